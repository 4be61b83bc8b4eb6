# Debian packages, by `cpack` in the build folder: lowhiss, and lowhiss-dev with the library.
set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME lowhiss)
set(CPACK_PACKAGE_CONTACT "The lowhiss authors <lowhiss@localhost>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "${PROJECT_DESCRIPTION}")
set(CPACK_DEBIAN_COMMAND_DESCRIPTION
    "Reads a preamp board as text, solves its circuit at every knob position, and says
how much gain there is, where the bass rolls off, how much it hisses and which
part hisses most, before the board is ordered.")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_COMPONENTS_ALL command development)
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_COMPONENTS_GROUPING IGNORE)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION electronics)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)

set(CPACK_DEBIAN_COMMAND_PACKAGE_NAME lowhiss)
set(CPACK_DEBIAN_COMMAND_PACKAGE_RECOMMENDS "gnuplot-nox, graphviz")

set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_NAME lowhiss-dev)
set(CPACK_DEBIAN_DEVELOPMENT_DESCRIPTION
    "The library behind the command lowhiss, its headers and its CMake package.")
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_SECTION libdevel)
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_SHLIBDEPS OFF)
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_DEPENDS
    "libspdlog-dev, libfmt-dev, libtomlplusplus-dev, libhwy-dev, liblapack-dev, libcminpack-dev")
include(CPack)
