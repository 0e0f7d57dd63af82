# SPDX-License-Identifier: GPL-3.0-or-later
# Installs the build into an empty prefix, then configures, builds and runs a project that only knows find_package.
# In: BUILD (finished build folder), SOURCE (this folder), WORK (scratch folder), GENERATOR, COMPILER, LAUNCHER.
function(run)
  execute_process(COMMAND ${ARGN} COMMAND_ERROR_IS_FATAL ANY)
endfunction()

file(REMOVE_RECURSE "${WORK}")
run("${CMAKE_COMMAND}" --install "${BUILD}" --prefix "${WORK}/prefix")
foreach(wanted bin/cradlewright include/cradlewright/pipeline.hpp)
  if(NOT EXISTS "${WORK}/prefix/${wanted}")
    message(FATAL_ERROR "${wanted} was not installed")
  endif()
endforeach()
run("${WORK}/prefix/bin/cradlewright" --version)
run("${CMAKE_COMMAND}" -S "${SOURCE}" -B "${WORK}/build" -G "${GENERATOR}" "-DCMAKE_PREFIX_PATH=${WORK}/prefix"
  "-DCMAKE_CXX_COMPILER=${COMPILER}" "-DCMAKE_CXX_COMPILER_LAUNCHER=${LAUNCHER}" -DCMAKE_BUILD_TYPE=Release)
run("${CMAKE_COMMAND}" --build "${WORK}/build")
run("${WORK}/build/consumer")
