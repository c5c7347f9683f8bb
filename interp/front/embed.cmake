# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
# Writes the scripts of stdlib/ into one C file, as front/library.h declares them. Run by the build:
#   cmake -D FOLDER=…/stdlib -D OUTPUT=…/library.c -P embed.cmake
# Byte arrays, since C17 promises no string literal of more than 4095 characters.
cmake_minimum_required(VERSION 3.25)

file(GLOB scripts "${FOLDER}/*.rlet")
list(SORT scripts)

set(arrays "")
set(file_rows "")
set(index "")
set(count 0)
foreach(script IN LISTS scripts)
    get_filename_component(name "${script}" NAME)
    file(READ "${script}" hex HEX)
    string(LENGTH "${hex}" digits)
    math(EXPR length "${digits} / 2")
    string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
    string(REPEAT "0x..," 24 pattern)
    string(REGEX REPLACE "(${pattern})" "\\1\n    " bytes "${bytes}")
    string(APPEND arrays "/* ${name} */\nstatic const unsigned char text_${count}[] = {\n    ${bytes}0x00};\n\n")
    string(APPEND file_rows "    {\"${name}\", (const char *)text_${count}, ${length}},\n")

    # Only how a formula's line opens is looked at: a bracket or a semicolon of a script would upset CMake's lists.
    file(READ "${script}" text)
    string(REGEX MATCHALL "\n *formula [^ (\n]+\\(" openings "${text}")
    foreach(opening IN LISTS openings)
        if(opening MATCHES "^\n( *)formula ([^ (]+)\\(")
            set(name "${CMAKE_MATCH_2}")
            set(part false)
            if(CMAKE_MATCH_1)
                set(part true)
            endif()
            string(FIND "${text}" "\n${CMAKE_MATCH_1}formula ${name}(" at)
            math(EXPR at "${at} + 1")
            list(APPEND index "${name} ${count}, ${at}, ${part}")
        endif()
    endforeach()
    math(EXPR count "${count} + 1")
endforeach()

# "name index" sorts by name, as a blank is less than any character of a name.
list(SORT index COMPARE STRING)
set(name_rows "")
set(last "")
foreach(entry IN LISTS index)
    string(REGEX MATCH "^([^ ]+) (.+)$" unused "${entry}")
    if(CMAKE_MATCH_1 STREQUAL last)
        message(FATAL_ERROR "formula ${last} stands twice in stdlib")
    endif()
    set(last "${CMAKE_MATCH_1}")
    string(APPEND name_rows "    {\"${CMAKE_MATCH_1}\", ${CMAKE_MATCH_2}},\n")
endforeach()
list(LENGTH index names)

# A last empty row keeps the tables legal C when there is no script yet.
file(CONFIGURE OUTPUT "${OUTPUT}" @ONLY CONTENT
"/* Written by interp/front/embed.cmake from the scripts in stdlib. */
#include \"front/library.h\"

@arrays@const LibraryFile library_files[] = {
@file_rows@    {NULL, NULL, 0},
};
const int library_file_count = @count@;

const LibraryName library_names[] = {
@name_rows@    {NULL, 0, 0, false},
};
const int library_name_count = @names@;
")
