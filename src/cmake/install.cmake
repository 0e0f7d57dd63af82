# SPDX-License-Identifier: GPL-3.0-or-later
# Installs in two components: the program with its page, completions and demo jobs, and the libraries with their headers and
# a package that find_package(cradlewright) finds.
include(CMakePackageConfigHelpers)

set(CMAKE_INSTALL_DEFAULT_COMPONENT_NAME program)
install(TARGETS program RUNTIME)
# Pages are installed packed; without a time in it, so that the same sources give the same package.
set(page "${PROJECT_SOURCE_DIR}/src/app/man/cradlewright.1")
set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS "${page}")
file(ARCHIVE_CREATE OUTPUT "${PROJECT_BINARY_DIR}/cradlewright.1.gz" PATHS "${page}" FORMAT raw COMPRESSION GZip
  COMPRESSION_LEVEL 9 MTIME 1970-01-01)
install(FILES "${PROJECT_BINARY_DIR}/cradlewright.1.gz" DESTINATION "${CMAKE_INSTALL_MANDIR}/man1")
set(completions "${PROJECT_SOURCE_DIR}/src/app/completions")
install(FILES "${completions}/cradlewright.bash" RENAME cradlewright
  DESTINATION "${CMAKE_INSTALL_DATADIR}/bash-completion/completions")
install(FILES "${completions}/_cradlewright" DESTINATION "${CMAKE_INSTALL_DATADIR}/zsh/vendor-completions")
install(FILES "${completions}/cradlewright.fish" DESTINATION "${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d")
install(FILES "${PROJECT_SOURCE_DIR}/LICENSE" "${PROJECT_SOURCE_DIR}/CHANGELOG.md" "${PROJECT_SOURCE_DIR}/README.md"
  "${PROJECT_SOURCE_DIR}/src/cmake/copyright" DESTINATION "${CMAKE_INSTALL_DOCDIR}")
foreach(name blade daggerboard scoop seat)
  install(FILES "${PROJECT_SOURCE_DIR}/meshes/${name}.toml" "${PROJECT_SOURCE_DIR}/meshes/${name}.stl"
    DESTINATION "${CMAKE_INSTALL_DOCDIR}/examples")
endforeach()
install(FILES "${PROJECT_SOURCE_DIR}/meshes/README.md" DESTINATION "${CMAKE_INSTALL_DOCDIR}/examples")

set(package_dir "${CMAKE_INSTALL_LIBDIR}/cmake/cradlewright")
install(TARGETS core files EXPORT cradlewright
  ARCHIVE COMPONENT development FILE_SET HEADERS COMPONENT development)
install(EXPORT cradlewright NAMESPACE cradlewright:: DESTINATION "${package_dir}" COMPONENT development)
configure_package_config_file("${CMAKE_CURRENT_LIST_DIR}/cradlewright-config.cmake.in"
  "${PROJECT_BINARY_DIR}/cradlewright-config.cmake" INSTALL_DESTINATION "${package_dir}")
write_basic_package_version_file("${PROJECT_BINARY_DIR}/cradlewright-config-version.cmake" COMPATIBILITY SameMinorVersion)
install(FILES "${PROJECT_BINARY_DIR}/cradlewright-config.cmake" "${PROJECT_BINARY_DIR}/cradlewright-config-version.cmake"
  DESTINATION "${package_dir}" COMPONENT development)
install(FILES "${PROJECT_SOURCE_DIR}/src/cmake/copyright" DESTINATION "${CMAKE_INSTALL_DATADIR}/doc/cradlewright-dev"
  COMPONENT development)
