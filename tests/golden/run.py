#!/usr/bin/python3
"""Golden cases: what the program prints for a job, compared byte for byte with what a person has
read and kept.

    run.py --marling PROGRAM CASE...            compare
    run.py --marling PROGRAM --bless CASE...    keep what it prints now; then read the difference

Numbers are kept with nine digits, and less than 1e-12 of any unit as 0: the last digits of a solved
network hang on the compiler and on the processor's mathematics, and nobody reads them.

A case is a folder:
    base             a job folder to start from, named from the root of the project (or none)
    job/*.csv        tables laid over it
    edits            changes to rows, one a line (tests/tool/jobs.py says how)
    library_edits    the same for a copy of the parts library
    command          arguments, one command; `job` is the job folder
    rules            lines `fires: RULE` and `quiet: RULE`, held against the job's finding table
                     (with pairs of failures when the command asks for them, and with the table
                     bench_finding when the command shows that)
    expected.txt     what it prints, expected_err.txt what it says on the side (no file: nothing)
    expected_exit    its exit code
"""
import argparse
import csv
import difflib
import io
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
sys.path.insert(0, os.path.join(ROOT, "tests", "tool"))
import jobs  # noqa: E402

SECONDS_LIMIT = 60


def read(path, default=None):
    if not os.path.exists(path):
        return default
    with open(path, "rb") as file:
        return file.read()


def make_library(case, library):
    """The project's own library, or a copy of it changed by CASE/library_edits."""
    edits = os.path.join(case, "library_edits")
    if os.path.exists(edits):
        shutil.copytree(os.path.join(ROOT, "library"), library)
        with open(edits, encoding="utf-8") as file:
            jobs.apply_edits(library, file)
    else:
        os.symlink(os.path.join(ROOT, "library"), library)


def run(program, arguments, folder):
    """Runs it beside the folders `job` and `library`, so that no path of this machine is printed;
    quiet, so that progress told on a slow machine is no difference."""
    done = subprocess.run([program, *arguments, "--quiet", "--library", "library"], cwd=folder,
                          capture_output=True, stdin=subprocess.DEVNULL, timeout=SECONDS_LIMIT,
                          check=False)
    if done.returncode < 0:
        sys.exit(f"{' '.join(arguments)}: killed by signal {-done.returncode}\n"
                 f"{done.stderr.decode('utf-8', 'replace')}")
    return done


def rule_lines(case):
    """[(word, rule)] of the case's `rules` file."""
    found = []
    for line in read(os.path.join(case, "rules"), b"").decode().splitlines():
        line = line.split("#")[0].strip()
        if line:
            word, colon, rule = line.partition(":")
            if not colon or word not in ("fires", "quiet"):
                sys.exit(f"{case}/rules: '{line}' is neither 'fires: RULE' nor 'quiet: RULE'")
            found.append((word, rule.strip()))
    return found


def rule_problems(program, case, folder):
    wanted = rule_lines(case)
    if not wanted:
        return []
    with open(os.path.join(case, "command"), encoding="utf-8") as file:
        words = file.read().split()
    pairs = ["--pairs"] if "--pairs" in words else []
    fired = set()
    for table in ["finding"] + [word for word in words if word == "bench_finding"]:
        done = run(program, ["show", table, "job", "--format", "csv"] + pairs, folder)
        fired |= {row["rule"] for row in csv.DictReader(io.StringIO(done.stdout.decode()))}
    problems = [f"rule {rule} should fire and does not" for word, rule in wanted
                if word == "fires" and rule not in fired]
    problems += [f"rule {rule} should be quiet and fires" for word, rule in wanted
                 if word == "quiet" and rule in fired]
    return problems


LONG_NUMBER = re.compile(rb"(?<![\w.])-?\d+\.\d{6,}(?:e[-+]\d+)?|(?<![\w.])-?\d+(?:\.\d+)?e-\d+")


def rounded(text):
    def short(match):
        value = float(match.group(0))
        return b"0" if abs(value) < 1e-12 else b"%.9g" % value
    return LONG_NUMBER.sub(short, text)


def difference(name, before, after):
    lines = difflib.unified_diff(before.decode("utf-8", "replace").splitlines(),
                                 after.decode("utf-8", "replace").splitlines(),
                                 f"kept {name}", f"printed {name}", lineterm="", n=2)
    return list(lines) or [f"{name} differs in bytes that can't be seen"]


def run_case(program, case, bless):
    """Problems as lines of text; none when all is as kept."""
    with tempfile.TemporaryDirectory() as folder:
        jobs.make_job(ROOT, case, os.path.join(folder, "job"))
        make_library(case, os.path.join(folder, "library"))
        arguments = shlex.split(read(os.path.join(case, "command")).decode(), comments=True)
        done = run(program, arguments, folder)
        problems = rule_problems(program, case, folder)
    printed = {"expected.txt": rounded(done.stdout), "expected_err.txt": done.stderr,
               "expected_exit": b"%d\n" % done.returncode}
    for name, text in printed.items():
        path = os.path.join(case, name)
        kept = read(path, b"")
        if kept == text:
            continue
        if not bless:
            problems += difference(name, kept, text)
        elif text:
            with open(path, "wb") as file:
                file.write(text)
        else:
            os.remove(path)
    return problems


def main():
    parser = argparse.ArgumentParser(description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--marling", required=True)
    parser.add_argument("--bless", action="store_true")
    parser.add_argument("cases", nargs="*", help="case folders; none: all beside this file")
    options = parser.parse_args()
    cases = options.cases or sorted(
        os.path.join(HERE, name) for name in os.listdir(HERE)
        if os.path.exists(os.path.join(HERE, name, "command")))
    bad = 0
    for case in cases:
        try:
            problems = run_case(os.path.abspath(options.marling), case, options.bless)
        except jobs.EditError as error:
            problems = [f"edit that does nothing: {error}"]
        if problems:
            bad += 1
            print(f"{os.path.relpath(case, ROOT)}:")
            print("\n".join("    " + line for line in problems))
    if options.bless:
        print(f"{len(cases)} cases kept; read what changed: git diff {os.path.relpath(HERE)}")
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()
