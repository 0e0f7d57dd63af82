// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

/// \file What stands in src/files/page/ and the 3D library, built into the program so that a page is one file. Written
/// by CMake from page/script_texts.cpp.in.
namespace cradlewright {

std::string_view ticks_script();
std::string_view tilts_script();
std::string_view view_script();
std::string_view three_script();   ///< the library: defines THREE
std::string_view orbit_script();   ///< its camera control: adds THREE.OrbitControls
std::string_view three_licence();  ///< plain text

}  // namespace cradlewright
