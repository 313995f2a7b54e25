#!/usr/bin/env python3
"""The shop file by the command line: what goes in comes out, a proof is the same from either place,
undo and revisions work, several write at once, and a program killed at any moment leaves the file
whole, with the whole of an edit or nothing of it.

    test_shop.py MARLING [KILLS]
"""
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
SEED = 20260511


def run(*words, code=0):
    done = subprocess.run([MARLING, *words], capture_output=True, text=True, cwd=FOLDER)
    if code is not None and done.returncode != code:
        sys.exit(f"{' '.join(words)}: exit {done.returncode}, not {code}\n{done.stderr}")
    return done


def tables(folder):
    """Every table of a folder, as bytes."""
    return {name: open(os.path.join(folder, name), "rb").read() for name in os.listdir(folder)}


def export(job):
    folder = os.path.join(FOLDER, "out")
    shutil.rmtree(folder, ignore_errors=True)
    run("export", job, "-o", folder)
    return tables(folder)


def expect(good, what):
    if not good:
        sys.exit("not so: " + what)


def without_places(text):
    """Findings without file and line, which only folders have."""
    import csv
    import io
    rows = list(csv.DictReader(io.StringIO(text)))
    return [{k: v for k, v in row.items() if k not in ("file", "line")} for row in rows]


def goes_in_and_comes_out():
    for name in ("osier", "osier_mended", "first"):
        folder = os.path.join(ROOT, "examples", name)
        run("import", folder, "shop.db")
        first = export("shop.db:" + name)
        run("import", os.path.join(FOLDER, "out"), "shop.db:" + name + "_again")
        expect(export("shop.db:" + name + "_again") == first, name + " comes out with the same bytes")
        for table in ("finding", "conductor", "fault_effect"):
            here = run("show", table, folder, "--format", "csv", code=None)
            there = run("show", table, "shop.db:" + name, "--format", "csv", code=None)
            expect(here.returncode == there.returncode and
                   without_places(here.stdout) == without_places(there.stdout),
                   f"{table} of {name} is the same from either place")
    run("export", "shop.db:library", "-o", "library")
    run("import", "library", "shop.db:library", "--library", "library")
    expect("import" not in run("log", "shop.db:library").stdout.split("\n", 1)[1],
           "the library taken in again changes nothing")


def undoes_and_restores():
    job = "shop.db:first"
    before = export(job)
    run("keep", job, "A", "--note", "as sold", "--by", "Ada")
    run("allot", job, "--by", "Bo")
    after = export(job)
    expect(after != before, "allot changes the job")
    run("undo", job)
    expect(export(job) == before, "undo puts it back")
    run("redo", job)
    expect(export(job) == after, "redo does it again")
    run("restore", job + "@A")
    expect(export(job) == before, "restore puts it back as it was kept")
    log = run("log", job).stdout
    expect("revision A" in log and "as sold" in log and "Bo" in log, "the log tells all")
    expect(run("prove", job + "@A").stdout == run("prove", job).stdout, "a revision can be proved")


def says_what_is_wrong():
    for words, said in (
            (("log", "shop.db:frist"), "did you mean first"),
            (("prove", "shop.db:first@B"), "there is no revision 'B'"),
            (("jobs", "none.db"), "No such file"),
            (("export", "shop.db:first", "-o", os.path.join(ROOT, "examples", "first")),
             "there are tables already"),
            (("restore", "shop.db:first"), "wants a revision"),
            (("keep", "shop.db:first", "A"), "revision of that name already")):
        done = run(*words, code=2)
        text = " ".join((done.stdout + done.stderr).split())
        expect(said in text, f"{' '.join(words)} says \"{said}\", not: {text[:300]}")
    shutil.copytree(os.path.join(ROOT, "examples", "first"), os.path.join(FOLDER, "bad"))
    with open(os.path.join(FOLDER, "bad", "unit.csv"), "a") as file:
        file.write("LAMP9,no such part,,N1,about that long,PNL,,\n")
    before = export("shop.db:first")
    run("import", "bad", "shop.db:first", code=2)
    expect(export("shop.db:first") == before, "what can't be read changes nothing")


def writes_from_several(count=6):
    words = [MARLING, "import", os.path.join(ROOT, "examples", "osier_mended")]
    writers = [subprocess.Popen([*words, f"shop.db:side{i}"], cwd=FOLDER,
                                stderr=subprocess.DEVNULL) for i in range(count)]
    expect(all(writer.wait() == 0 for writer in writers), "all writers get their turn")
    kept = export("shop.db:osier_mended")
    expect(all(export(f"shop.db:side{i}") == kept for i in range(count)), "each wrote all of it")
    backup = subprocess.Popen([MARLING, "backup", "shop.db", "copy.db"], cwd=FOLDER)
    run("import", os.path.join(ROOT, "examples", "osier"), "shop.db:side0")
    expect(backup.wait() == 0, "a backup while somebody writes")
    run("check-shop", "copy.db")


def survives_kills(kills):
    """Two states of one job put in turn; killed at random, the file holds one or the other."""
    draw = random.Random(SEED)
    sides = [os.path.join(ROOT, "examples", name) for name in ("osier", "osier_mended")]
    states = []
    for side in sides:
        run("import", side, "shop.db:kill")
        states.append(export("shop.db:kill"))
    begin = time.monotonic()
    run("import", sides[0], "shop.db:kill")
    whole_s = time.monotonic() - begin
    hit = 0
    now = 0
    for kill in range(kills):
        writer = subprocess.Popen([MARLING, "import", sides[1 - now], "shop.db:kill"],
                                  cwd=FOLDER, stderr=subprocess.DEVNULL)
        time.sleep(draw.random() * whole_s)
        writer.send_signal(signal.SIGKILL)
        code = writer.wait()
        there = export("shop.db:kill")
        expect(there in states, f"after kill {kill} the job is one state or the other")
        expect(code != 0 or there == states[1 - now], f"what was told as done is there ({kill})")
        now = states.index(there)
        hit += code != 0
        if kill % 10 == 0:
            run("check-shop", "shop.db")
    run("check-shop", "shop.db")
    print(f"killed {hit} of {kills} in the middle (seed {SEED})")
    expect(hit > kills // 4, "kills came in the middle")


MARLING = os.path.abspath(sys.argv[1])
FOLDER = tempfile.mkdtemp(prefix="marling-shop-")
try:
    goes_in_and_comes_out()
    undoes_and_restores()
    says_what_is_wrong()
    writes_from_several()
    survives_kills(int(sys.argv[2]) if len(sys.argv) > 2 else 60)
    run("check-shop", "shop.db")
finally:
    shutil.rmtree(FOLDER)
