# The desk: asked over the network, and used in a browser.
if(TARGET marling)
    find_program(PYTHON3 python3 PATHS /usr/bin NO_DEFAULT_PATH REQUIRED)
    find_program(CHROMIUM chromium REQUIRED)
    add_test(NAME desk_network
        COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/tool/test_desk.py $<TARGET_FILE:marling>)
    # Strangers of every kind: beyond this machine, by TLS.
    add_test(NAME door_network
        COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/tool/test_door.py $<TARGET_FILE:marling>)
    # The sanitizers have their turn with these.
    set_tests_properties(desk_network door_network PROPERTIES LABELS desk TIMEOUT 300)

    set(web_tests ${CMAKE_BINARY_DIR}/web_tests)
    file(MAKE_DIRECTORY ${web_tests}/pictures)
    add_custom_command(OUTPUT ${web_tests}/node_modules/.package-lock.json
        COMMAND ${CMAKE_COMMAND} -E copy ${CMAKE_SOURCE_DIR}/tests/web/package.json
            ${CMAKE_SOURCE_DIR}/tests/web/package-lock.json ${CMAKE_SOURCE_DIR}/tests/web/.npmrc
            ${web_tests}
        COMMAND ${NPM} ci --silent
        WORKING_DIRECTORY ${web_tests}
        DEPENDS web/package.json web/package-lock.json
        COMMENT "fetching what drives the browser")

    # Every tests/web/*.mjs but for what they share is a test. They lie together, beside their packages.
    file(GLOB scripts CONFIGURE_DEPENDS web/*.mjs)
    set(copies "")
    foreach(script ${scripts})
        get_filename_component(name ${script} NAME_WE)
        add_custom_command(OUTPUT ${web_tests}/${name}.mjs
            COMMAND ${CMAKE_COMMAND} -E copy ${script} ${web_tests}
            DEPENDS ${script} ${web_tests}/node_modules/.package-lock.json)
        list(APPEND copies ${web_tests}/${name}.mjs)
        if(NOT name STREQUAL "setup")
            add_test(NAME ${name}_browser
                COMMAND ${NODE} ${name}.mjs $<TARGET_FILE:marling> ${CMAKE_SOURCE_DIR}/examples
                    ${CHROMIUM} ${web_tests}/pictures
                WORKING_DIRECTORY ${web_tests})
            set_tests_properties(${name}_browser PROPERTIES LABELS "desk;tree" TIMEOUT 300)
        endif()
    endforeach()
    add_custom_target(web_tests ALL DEPENDS ${copies})
    find_program(PDFINFO pdfinfo REQUIRED) # with which books are looked into
endif()
