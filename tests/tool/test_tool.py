#!/usr/bin/python3
"""The test tools themselves: edits do what they say, and the golden runner notices what it must."""
import os
import stat
import subprocess
import sys
import tempfile
import unittest

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
sys.path.insert(0, HERE)
import jobs  # noqa: E402

# Stands in for the program: prints the unit table, and one finding when a stub is negative.
PROGRAM = """#!/bin/sh
if [ "$2" = finding ]; then
    echo number,rule
    ! grep -q -- ,-5 job/unit.csv || echo 1,read.range
else
    cat job/unit.csv
fi
exit %s
"""


def write(path, text):
    os.makedirs(os.path.dirname(path), exist_ok=True)
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)


class Edits(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.path = os.path.join(self.folder.name, "unit.csv")
        write(self.path, 'tag,stub_mm,role\nA,1,"x, y"\nB,2\nC,2,z\n')

    def after(self, *lines):
        jobs.apply_edits(self.folder.name, lines)
        with open(self.path, encoding="utf-8") as file:
            return file.read()

    def test_set(self):
        self.assertEqual(self.after("# nothing", "", "set unit stub_mm=2 : 'role=q r'"),
                         'tag,stub_mm,role\nA,1,"x, y"\nB,2,q r\nC,2,q r\n')

    def test_set_adds_a_column(self):
        self.assertEqual(self.after("set unit tag=B : node=N1"),
                         'tag,stub_mm,role,node\nA,1,"x, y",\nB,2,,N1\nC,2,z,\n')

    def test_drop_add_clear_rename(self):
        self.assertEqual(self.after("drop unit stub_mm=2", "add unit tag=D role=w",
                                    "rename unit role what"),
                         'tag,stub_mm,what\nA,1,"x, y"\nD,,w\n')
        self.assertEqual(self.after("clear unit"), "tag,stub_mm,what\n")

    def test_new_table_and_none(self):
        jobs.apply_edits(self.folder.name, ["add node node=N1 x_mm=5", "without unit"])
        self.assertEqual(os.listdir(self.folder.name), ["node.csv"])

    def test_slips_are_errors(self):
        for line in ("set unit tag=Z : role=x", "drop unit nix=1", "turn unit tag=A",
                     "set unit tag=A : role"):
            with self.assertRaises(jobs.EditError):
                self.after(line)


class Runner(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.case = os.path.join(self.folder.name, "case")
        self.program = os.path.join(self.folder.name, "program")
        write(os.path.join(self.case, "job", "unit.csv"), "tag,stub_mm\nA,1\n")
        write(os.path.join(self.case, "command"), "show unit job\n")
        self.stand_in("0")

    def stand_in(self, ending):
        write(self.program, PROGRAM % ending)
        os.chmod(self.program, stat.S_IRWXU)

    def run_case(self, *options):
        done = subprocess.run(
            [sys.executable, os.path.join(ROOT, "tests", "golden", "run.py"), "--marling",
             self.program, *options, self.case], capture_output=True, text=True, check=False)
        return done.returncode, done.stdout + done.stderr

    def test_bless_then_same_then_each_difference(self):
        self.assertEqual(self.run_case()[0], 1)
        self.assertEqual(self.run_case("--bless")[0], 0)
        self.assertEqual(self.run_case(), (0, ""))
        write(os.path.join(self.case, "edits"), "set unit tag=A : stub_mm=2\n")
        code, text = self.run_case()
        self.assertEqual(code, 1)
        self.assertIn("+A,2", text)
        os.remove(os.path.join(self.case, "edits"))
        self.stand_in("1")
        self.assertIn("+1", self.run_case()[1])

    def test_words_on_the_side_count(self):
        self.run_case("--bless")
        write(self.program, "#!/bin/sh\ncat job/unit.csv\necho careful >&2\n")
        self.assertIn("+careful", self.run_case()[1])

    def test_signal_is_never_right(self):
        write(self.program, "#!/bin/sh\nkill -SEGV $$\n")
        code, text = self.run_case("--bless")
        self.assertNotEqual(code, 0)
        self.assertIn("signal 11", text)

    def test_rules_are_held_against_the_findings(self):
        write(os.path.join(self.case, "rules"), "quiet: read.range\n")
        self.run_case("--bless")
        self.assertEqual(self.run_case()[0], 0)
        write(os.path.join(self.case, "rules"), "fires: read.range\n")
        self.assertIn("should fire", self.run_case()[1])
        write(os.path.join(self.case, "edits"), "set unit tag=A : stub_mm=-5\n")
        write(os.path.join(self.case, "rules"), "quiet: read.range\n")
        self.assertIn("should be quiet", self.run_case()[1])


if __name__ == "__main__":
    unittest.main()
