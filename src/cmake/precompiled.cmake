# SPDX-License-Identifier: GPL-3.0-or-later
# Standard headers are parsed once a target and no longer once a file: a quarter of the sanitizer build's time. GCC gains
# too little by it. The presets that build with GCC find a file that forgets an include.
set(common_headers <algorithm> <array> <cmath> <functional> <map> <numbers> <optional> <ranges> <span> <string> <vector>)

function(cradlewright_precompile target)
  if(CMAKE_CXX_COMPILER_ID STREQUAL "Clang")
    target_precompile_headers(${target} PRIVATE ${common_headers} ${ARGN})
  endif()
endfunction()
