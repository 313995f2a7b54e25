# What a customer does at the desk, on a phone and with a file; after desk.cmake, whose packages drive
# the browser.
if(TARGET marling)
    find_program(PDFINFO pdfinfo REQUIRED)
    add_custom_command(OUTPUT ${web_tests}/customer.mjs
        COMMAND ${CMAKE_COMMAND} -E copy ${CMAKE_SOURCE_DIR}/tests/web/customer.mjs ${web_tests}
        DEPENDS web/customer.mjs ${web_tests}/node_modules/.package-lock.json)
    add_custom_target(customer_tests ALL DEPENDS ${web_tests}/customer.mjs)
    add_test(NAME customer_browser
        COMMAND ${NODE} customer.mjs $<TARGET_FILE:marling> ${CMAKE_SOURCE_DIR}/examples
            ${CHROMIUM} ${web_tests}/pictures
        WORKING_DIRECTORY ${web_tests})
    set_tests_properties(customer_browser PROPERTIES LABELS "desk;tree" TIMEOUT 300)
endif()
