# Replays the committed corpus of every fuzz target, built without libFuzzer.
list(GET MARLING_BELOW 0 top)
file(GLOB sources CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/tests/fuzz/fuzz_*.c)
foreach(source ${sources})
    get_filename_component(name ${source} NAME_WE)
    string(REPLACE fuzz_ "" name ${name})
    add_executable(replay_${name} ${source} ${CMAKE_SOURCE_DIR}/tests/fuzz/replay.c)
    target_link_libraries(replay_${name} PRIVATE ${top})
    target_compile_options(replay_${name} PRIVATE -Wno-missing-prototypes)
    target_compile_definitions(replay_${name} PRIVATE MARLING_SOURCE_DIR="${CMAKE_SOURCE_DIR}")
    add_test(NAME fuzz_replay_${name}
        COMMAND replay_${name} ${CMAKE_SOURCE_DIR}/tests/fuzz/corpus/${name})
    set_tests_properties(fuzz_replay_${name} PROPERTIES LABELS fuzz TIMEOUT 120)
endforeach()
