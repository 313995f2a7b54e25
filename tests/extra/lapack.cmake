# The dense solver that random networks and the examples' phases are compared with.
find_library(LAPACKE_LIB lapacke REQUIRED)
target_link_libraries(property_test_solve_random PRIVATE ${LAPACKE_LIB})
target_link_libraries(property_test_phases PRIVATE ${LAPACKE_LIB})
target_link_libraries(property_test_fail PRIVATE ${LAPACKE_LIB})
