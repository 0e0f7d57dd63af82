// SPDX-License-Identifier: GPL-3.0-or-later
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/IO/STL.h>
#include <CGAL/Polygon_mesh_processing/orient_polygon_soup.h>
#include <CGAL/Polygon_mesh_processing/repair_polygon_soup.h>
#include <assimp/postprocess.h>
#include <assimp/scene.h>

#include <array>
#include <assimp/Importer.hpp>

#include "cradlewright/base/error.hpp"
#include "peers.hpp"

namespace cradlewright::bench {

std::size_t import_with_assimp(const std::string& path) {
    Assimp::Importer importer;
    importer.SetPropertyInteger(AI_CONFIG_PP_RVC_FLAGS, aiComponent_NORMALS);
    const aiScene* scene = importer.ReadFile(path, aiProcess_RemoveComponent | aiProcess_JoinIdenticalVertices);
    if (scene == nullptr || scene->mNumMeshes == 0) throw Error(ErrorCode::io, path, importer.GetErrorString());
    return scene->mMeshes[0]->mNumVertices;
}

std::size_t mend_with_cgal(const std::string& path) {
    using Point = CGAL::Exact_predicates_inexact_constructions_kernel::Point_3;
    std::vector<Point> points;
    std::vector<std::array<std::size_t, 3>> triangles;
    if (!CGAL::IO::read_STL(path, points, triangles)) throw Error(ErrorCode::io, path, "cannot be read");
    CGAL::Polygon_mesh_processing::repair_polygon_soup(points, triangles);
    CGAL::Polygon_mesh_processing::orient_polygon_soup(points, triangles);
    return points.size();
}

}  // namespace cradlewright::bench
