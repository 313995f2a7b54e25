#!/usr/bin/python3
"""Fails unless docs/theory/outside_checks.md names every numbered outside check and no other: a test
function c41_short_name in tests/outside/test_*.c belongs to a line "| C41 | ... `c41_short_name` ...".
"""
import os
import re
import sys

ROOT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")
PAGE = os.path.join(ROOT, "docs", "theory", "outside_checks.md")
TESTS = os.path.join(ROOT, "tests", "outside")


def read(path):
    with open(path, encoding="utf-8") as file:
        return file.read()


tested = set()
for name in sorted(os.listdir(TESTS)):
    if name.startswith("test_") and name.endswith(".c"):
        tested |= set(re.findall(r"cmocka_unit_test(?:_\w+)?\((c\d+_\w+)", read(os.path.join(TESTS, name))))
listed = set()
problems = []
for line in read(PAGE).splitlines():
    number = re.match(r"\| C(\d+) \|", line)
    if number:
        names = re.findall(r"`(c\d+_\w+)`", line)
        listed |= set(names)
        if not names or any(not name.startswith(f"c{number.group(1)}_") for name in names):
            problems.append(f"this line names no test of its number: {line}")
problems += [f"not in the page: {name}" for name in sorted(tested - listed)]
problems += [f"in the page, but no such test: {name}" for name in sorted(listed - tested)]
if problems:
    sys.exit("\n".join(problems))
print(f"outside checks: {len(listed)} numbered tests, all in the page")
