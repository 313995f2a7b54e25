# The bench with a tablet, in a browser; what drives it was fetched for desk.cmake.
if(TARGET web_tests)
    add_custom_command(OUTPUT ${web_tests}/bench.mjs
        COMMAND ${CMAKE_COMMAND} -E copy ${CMAKE_SOURCE_DIR}/tests/web/bench.mjs ${web_tests}
        DEPENDS web/bench.mjs ${web_tests}/node_modules/.package-lock.json)
    add_custom_target(web_bench_tests ALL DEPENDS ${web_tests}/bench.mjs)
    add_dependencies(web_bench_tests web_tests)
    add_test(NAME bench_browser
        COMMAND ${NODE} bench.mjs $<TARGET_FILE:marling> ${CMAKE_SOURCE_DIR}/examples ${CHROMIUM}
            ${web_tests}/pictures
        WORKING_DIRECTORY ${web_tests})
    set_tests_properties(bench_browser PROPERTIES LABELS "desk;tree" TIMEOUT 300)
endif()
