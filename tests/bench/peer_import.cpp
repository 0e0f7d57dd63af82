// SPDX-License-Identifier: GPL-3.0-or-later
#include <assimp/postprocess.h>
#include <assimp/scene.h>

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

}  // namespace cradlewright::bench
