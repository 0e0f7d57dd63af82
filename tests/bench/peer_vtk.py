# SPDX-License-Identifier: GPL-3.0-or-later
"""What VTK needs for a part of the job. Prints nothing; with RESULT writes "seconds length_mm" of the work alone.

    peer_vtk.py load FILE                      read the binary STL, join equal vertices
    peer_vtk.py slice FILE RESULT SPAN COUNT   then cut square to x at COUNT places of 0 .. SPAN mm
"""
import sys
import time

from vtkmodules.vtkCommonDataModel import vtkPlane
from vtkmodules.vtkFiltersCore import vtkCutter
from vtkmodules.vtkIOGeometry import vtkSTLReader
from vtkmodules.util.numpy_support import vtk_to_numpy


def load(path):
    reader = vtkSTLReader()
    reader.SetFileName(path)
    reader.MergingOn()
    reader.Update()
    if reader.GetOutput().GetNumberOfPolys() == 0:
        sys.exit(f"{path}: no triangles")
    return reader.GetOutput()


def length_of(lines):
    points = vtk_to_numpy(lines.GetPoints().GetData()).astype(float)
    ends = vtk_to_numpy(lines.GetLines().GetConnectivityArray()).reshape(-1, 2)
    steps = points[ends[:, 0]] - points[ends[:, 1]]
    return float(((steps ** 2).sum(axis=1) ** 0.5).sum())


def slices(mesh, span, count):
    plane = vtkPlane()
    plane.SetNormal(1, 0, 0)
    cutter = vtkCutter()
    cutter.SetInputData(mesh)
    cutter.SetCutFunction(plane)
    for i in range(count):
        cutter.SetValue(i, span * (i + 0.5) / count)
    start = time.perf_counter()
    cutter.Update()
    return time.perf_counter() - start, length_of(cutter.GetOutput())


def main():
    mesh = load(sys.argv[2])
    if sys.argv[1] == "slice":
        seconds, length = slices(mesh, float(sys.argv[4]), int(sys.argv[5]))
        with open(sys.argv[3], "w", encoding="ascii") as file:
            file.write(f"{seconds} {length}\n")


if __name__ == "__main__":
    main()
