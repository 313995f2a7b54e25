# An independent circuit solver agrees: libngspice (shared library, BSD licence), for tests only.
find_library(NGSPICE_LIB ngspice REQUIRED)
marling_test(${CMAKE_CURRENT_SOURCE_DIR}/extra/test_ngspice.c outside ${MARLING_TOP})
target_link_libraries(extra_test_ngspice PRIVATE ${NGSPICE_LIB})
