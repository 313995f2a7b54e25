#!/usr/bin/python3
"""The tour of README.md is what happens: every fenced block whose first line starts with `$ ` is a
session, its commands are run one after the other in one copy of the examples, and what is printed
must be what stands there. A line of nothing but `...` stands for any lines.

    test_readme.py PROGRAM
"""
import os
import re
import shutil
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
NAME = "build/release/marling"


def sessions(text):
    """[(command, [lines])] of the whole page, in order."""
    found = []
    for block in re.findall(r"^```[^\n]*\n(.*?)^```$", text, re.S | re.M):
        if block.startswith("$ "):
            for part in re.split(r"^\$ ", block, flags=re.M)[1:]:
                command, *lines = part.rstrip("\n").split("\n")
                found.append((command, lines))
    return found


def matches(wanted, printed):
    """Line by line; `...` takes as few lines as it can."""
    if not wanted:
        return not printed
    if wanted[0].strip() == "...":
        return any(matches(wanted[1:], printed[i:]) for i in range(len(printed) + 1))
    return bool(printed) and wanted[0].rstrip() == printed[0].rstrip() and \
        matches(wanted[1:], printed[1:])


def main(program):
    with open(os.path.join(ROOT, "README.md"), encoding="utf-8") as file:
        steps = sessions(file.read())
    if len(steps) < 5:
        sys.exit(f"README.md shows {len(steps)} commands: has the form of the tour changed?")
    with tempfile.TemporaryDirectory() as folder:
        for name in ("examples", "library"):
            shutil.copytree(os.path.join(ROOT, name), os.path.join(folder, name))
        os.makedirs(os.path.join(folder, os.path.dirname(NAME)))
        os.symlink(os.path.abspath(program), os.path.join(folder, NAME))
        for command, wanted in steps:
            done = subprocess.run(["sh", "-c", command], cwd=folder, text=True, check=False,
                                  stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=60)
            told = re.sub(r"^marling: [a-z ]+ \.\.\.\n", "", done.stdout, flags=re.M)  # progress
            printed = told.rstrip("\n").split("\n") if told else []
            if not matches(wanted, printed):
                sys.exit(f"README.md says that\n    $ {command}\nprints\n" + "\n".join(wanted) +
                         "\n\nbut it prints\n" + "\n".join(printed))
    print(f"{len(steps)} commands of README.md print what it says")


main(sys.argv[1])
