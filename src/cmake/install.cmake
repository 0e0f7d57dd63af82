# SPDX-License-Identifier: GPL-3.0-or-later
# Installs the program, both libraries and their headers, and a package that find_package(cradlewright) finds.
include(CMakePackageConfigHelpers)

set(package_dir "${CMAKE_INSTALL_LIBDIR}/cmake/cradlewright")
install(TARGETS program RUNTIME)
install(TARGETS core files EXPORT cradlewright ARCHIVE FILE_SET HEADERS)
install(EXPORT cradlewright NAMESPACE cradlewright:: DESTINATION "${package_dir}")
configure_package_config_file("${CMAKE_CURRENT_LIST_DIR}/cradlewright-config.cmake.in"
  "${PROJECT_BINARY_DIR}/cradlewright-config.cmake" INSTALL_DESTINATION "${package_dir}")
write_basic_package_version_file("${PROJECT_BINARY_DIR}/cradlewright-config-version.cmake" COMPATIBILITY SameMinorVersion)
install(FILES "${PROJECT_BINARY_DIR}/cradlewright-config.cmake" "${PROJECT_BINARY_DIR}/cradlewright-config-version.cmake"
  DESTINATION "${package_dir}")
install(FILES "${PROJECT_SOURCE_DIR}/LICENSE" "${PROJECT_SOURCE_DIR}/CHANGELOG.md" "${PROJECT_SOURCE_DIR}/README.md"
  "${PROJECT_SOURCE_DIR}/src/files/page/three-licence.txt"
  DESTINATION "${CMAKE_INSTALL_DOCDIR}")
