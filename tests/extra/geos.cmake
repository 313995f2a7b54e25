# The geometry library that contours of lines and arcs, and boards, are compared with.
find_library(GEOS_LIB geos_c REQUIRED)
target_link_libraries(property_test_panel_geometry PRIVATE ${GEOS_LIB})
target_link_libraries(property_test_board_geos PRIVATE ${GEOS_LIB})
