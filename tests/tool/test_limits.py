#!/usr/bin/python3
"""Limits that the source asks for by name are in the list that src/model/model.c demands of a
library, and in the library that comes with the program."""
import csv
import glob
import os
import re
import unittest

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))


def read(name):
    with open(os.path.join(ROOT, name), encoding="utf-8") as file:
        return file.read()


def asked_for():
    found = set()
    for name in glob.glob(os.path.join(ROOT, "src", "**", "*.[ch]"), recursive=True):
        text = read(name)
        found.update(re.findall(r'\bmodel_limit(?:_row)?\([^;"]*?"(\w+)"', text))
        found.update(re.findall(r'#define \w+_LIMIT_\w+ "(\w+)"', text))
    return found


class Limits(unittest.TestCase):
    def test_list_is_complete(self):
        lists = re.findall(r"NEEDED\[\] = \{(.*?)\};", read("src/model/model.c"), re.S)
        self.assertEqual(len(lists), 1)
        needed = re.findall(r'"(\w+)"', lists[0])
        self.assertEqual(sorted(needed), sorted(set(needed)))
        self.assertGreater(len(needed), 10, "has the form of the calls changed?")
        self.assertEqual(set(needed), asked_for())

    def test_library_has_them(self):
        with open(os.path.join(ROOT, "library", "limit.csv"), encoding="utf-8", newline="") as file:
            names = {row["limit"] for row in csv.DictReader(file)}
        self.assertLessEqual(asked_for(), names)


if __name__ == "__main__":
    unittest.main()
