# SPDX-License-Identifier: GPL-3.0-or-later
"""Distance from the plug as scanned, by an independent library."""

import vtk


class PlugField:
    """The scan's largest shell, holes filled flat, moved by the report's matrix scan -> fixture."""

    def __init__(self, scan, unit_mm, scan_to_fixture):
        reader = vtk.vtkSTLReader()
        reader.SetFileName(str(scan))
        shell = vtk.vtkPolyDataConnectivityFilter()
        shell.SetInputConnection(reader.GetOutputPort())
        shell.SetExtractionModeToLargestRegion()
        clean = vtk.vtkCleanPolyData()
        clean.SetInputConnection(shell.GetOutputPort())
        filled = vtk.vtkFillHolesFilter()
        filled.SetInputConnection(clean.GetOutputPort())
        filled.SetHoleSize(1e9)
        oriented = vtk.vtkPolyDataNormals()
        oriented.SetInputConnection(filled.GetOutputPort())
        oriented.ConsistencyOn()
        oriented.AutoOrientNormalsOn()
        oriented.SplittingOff()
        motion = vtk.vtkTransform()
        motion.SetMatrix([value for row in scan_to_fixture for value in row])
        motion.Scale(unit_mm, unit_mm, unit_mm)
        moved = vtk.vtkTransformPolyDataFilter()
        moved.SetInputConnection(oriented.GetOutputPort())
        moved.SetTransform(motion)
        moved.Update()
        self.surface = moved.GetOutput()
        self.bounds = self.surface.GetBounds()
        self._distance = vtk.vtkImplicitPolyDataDistance()
        self._distance.SetInput(self.surface)

    def distances(self, points, raised=0.0):
        """Signed distances, negative inside, of fixture points from the plug raised by some mm."""
        coordinates = vtk.vtkDoubleArray()
        coordinates.SetNumberOfComponents(3)
        for x, y, z in points:
            coordinates.InsertNextTuple3(x, y, z - raised)
        values = vtk.vtkDoubleArray()
        self._distance.FunctionValue(coordinates, values)
        return [values.GetValue(i) for i in range(values.GetNumberOfTuples())]

    def near(self, points, reach, raised=0.0):
        """Those points that lie within `reach` of the raised plug's box; the rest need no distance."""
        x0, x1, y0, y1, z0, z1 = self.bounds
        z0, z1 = z0 + raised, z1 + raised
        return [p for p in points
                if x0 - reach < p[0] < x1 + reach and y0 - reach < p[1] < y1 + reach and z0 - reach < p[2] < z1 + reach]
