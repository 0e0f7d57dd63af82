# SPDX-License-Identifier: GPL-3.0-or-later
# Packages: cpack --config build/release/CPackConfig.cmake makes two Debian packages, the program and what others build
# against, and one archive with everything. What the program needs is read off its binary by dpkg-shlibdeps.
set(CPACK_GENERATOR "DEB;TGZ")
set(CPACK_PACKAGE_NAME cradlewright)
set(CPACK_PACKAGE_VERSION "${PROJECT_VERSION}")
set(CPACK_PACKAGE_VENDOR "Cradlewright")
set(CPACK_PACKAGE_CONTACT "Cradlewright maintainers <maintainers@cradlewright.invalid>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "design the fixture for moulding off a scanned plug")
set(CPACK_RESOURCE_FILE_LICENSE "${PROJECT_SOURCE_DIR}/LICENSE")
set(CPACK_STRIP_FILES ON)
set(CPACK_ARCHIVE_COMPONENT_INSTALL OFF)
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_COMPONENTS_ALL program development)
set(CPACK_COMPONENTS_GROUPING ONE_PER_GROUP)

set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_NAME cradlewright)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SECTION science)
set(CPACK_COMPONENT_PROGRAM_DESCRIPTION
  "From a 3D scan of a plug it designs the fixture for laying up a composite
female mould in two halves: parting line, flange panels, the cradle that
carries them, clay beads and cloth patterns; it judges the design and writes
true-size cut files, templates, sheet layouts and a report.")
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_NAME cradlewright-dev)
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_SECTION libdevel)
# Static libraries name no others, so what find_package(cradlewright) asks for is told here; beside it in
# cradlewright-config.cmake.in.
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_SHLIBDEPS OFF)
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_DEPENDS
  "libcgal-dev, libeigen3-dev, libassimp-dev, libcairo2-dev, libpolyclipping-dev, libtomlplusplus-dev, zlib1g-dev, nlohmann-json3-dev, pkg-config")
set(CPACK_COMPONENT_DEVELOPMENT_DESCRIPTION
  "Headers, static libraries and the CMake package of Cradlewright.")
include(CPack)
