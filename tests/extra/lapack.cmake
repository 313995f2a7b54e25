# The dense solver that the random networks are compared with.
find_library(LAPACKE_LIB lapacke REQUIRED)
target_link_libraries(property_test_solve_random PRIVATE ${LAPACKE_LIB})
