#!/usr/bin/python3
"""What files and folders can do to the program: nothing there, no permission, noise, a full disk, a
kill in the middle of a write. It always says what is wrong, ends with its own exit code and never
leaves half a file.

    test_files.py PROGRAM
"""
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import unittest

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
BASE = os.path.join(ROOT, "examples", "first")
PROGRAM = os.path.abspath(sys.argv.pop(1)) if len(sys.argv) > 1 else ""
NOBODY = 65534
SECONDS_LIMIT = 120


class Job(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = folder.name
        os.chmod(self.folder, 0o755)
        self.job = os.path.join(self.folder, "job")
        shutil.copytree(BASE, self.job)

    def run_program(self, *arguments, as_nobody=False, **options):
        command = [PROGRAM, *arguments]
        if as_nobody and os.geteuid() == 0:
            command = ["setpriv", f"--reuid={NOBODY}", f"--regid={NOBODY}", "--clear-groups",
                       *self.readable_program(), *arguments]
        done = subprocess.run(command, cwd=self.folder, stdin=subprocess.DEVNULL,
                              stdout=options.pop("stdout", subprocess.PIPE),
                              stderr=subprocess.PIPE, timeout=SECONDS_LIMIT, check=False, **options)
        self.assertGreaterEqual(done.returncode, 0, f"killed by signal {-done.returncode}")
        done.text = (done.stdout or b"").decode("utf-8", "replace") + \
            done.stderr.decode("utf-8", "replace")
        return done

    def readable_program(self):
        """A copy that another user can run: the tree may lie under a home that is closed."""
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        os.chmod(folder.name, 0o755)
        program = os.path.join(folder.name, "marling")
        shutil.copy(PROGRAM, program)
        shutil.copytree(os.path.join(ROOT, "library"), os.path.join(folder.name, "library"))
        return [program]

    def refused(self, *words, arguments=("prove", "job"), **options):
        """The program says no with exit code 2 and names the words."""
        done = self.run_program(*arguments, **options)
        self.assertEqual(done.returncode, 2, done.text)
        for word in words:
            self.assertIn(word, done.text)
        return done.text

    def put(self, name, data):
        with open(os.path.join(self.job, name), "wb") as file:
            file.write(data)

    def leftovers(self, folder):
        return [name for name in os.listdir(folder) if ".part" in name]


class Reading(Job):
    def test_base_is_readable(self):
        """The other cases prove something only if this one holds."""
        done = self.run_program("prove", "job")
        self.assertIn(done.returncode, (0, 1), done.text)

    def test_no_folder(self):
        self.refused("nowhere", "No such file", arguments=("prove", "nowhere"))

    def test_file_for_folder(self):
        self.refused("unit.csv", arguments=("prove", "job/unit.csv"))

    def test_empty_folder(self):
        os.mkdir(os.path.join(self.folder, "bare"))
        self.refused("bare", arguments=("prove", "bare"))

    def test_empty_file(self):
        self.put("unit.csv", b"")
        self.refused("unit.csv")

    def test_only_a_head(self):
        with open(os.path.join(self.job, "unit.csv"), "rb") as file:
            head = file.readline()
        self.put("unit.csv", head)
        self.refused("link.csv")  # its ends are gone

    def test_folder_without_permission(self):
        os.chmod(self.job, 0)
        self.addCleanup(os.chmod, self.job, 0o755)
        self.refused("job", "Permission denied", as_nobody=True)

    def test_file_without_permission(self):
        path = os.path.join(self.job, "unit.csv")
        os.chmod(path, 0)
        self.refused("unit.csv", "Permission denied", as_nobody=True)

    def test_pipe_does_not_hang(self):
        os.remove(os.path.join(self.job, "unit.csv"))
        os.mkfifo(os.path.join(self.job, "unit.csv"))
        self.refused("unit.csv")

    def test_folder_named_like_a_table(self):
        os.remove(os.path.join(self.job, "unit.csv"))
        os.mkdir(os.path.join(self.job, "unit.csv"))
        self.refused("unit.csv")

    def test_ten_megabytes_of_noise(self):
        self.put("unit.csv", random.Random(1).randbytes(10_000_000))
        text = self.refused("unit.csv")
        self.assertLess(len(text), 100_000, "a flood of findings helps nobody")

    def test_ten_megabytes_of_printable_noise(self):
        letters = bytes(range(32, 127)) + b"\n\n\",;\t"
        noise = random.Random(2).choices(letters, k=10_000_000)
        with open(os.path.join(self.job, "unit.csv"), "rb") as file:
            head = file.readline()
        self.put("unit.csv", head + bytes(noise))
        text = self.refused("unit.csv")
        self.assertLess(len(text), 100_000)

    def test_one_line_without_end(self):
        self.put("unit.csv", b"tag," + b"x" * 5_000_000)
        self.refused("unit.csv")

    def test_quote_that_never_closes(self):
        with open(os.path.join(self.job, "unit.csv"), "rb") as file:
            data = file.read()
        self.put("unit.csv", data + b'"never closed\nA,B\n')
        self.refused("unit.csv")

    def test_zero_bytes(self):
        self.put("unit.csv", b"\0" * 10_000)
        self.refused("unit.csv")

    def test_million_columns(self):
        self.put("unit.csv", b"tag" + b",x" * 1_000_000 + b"\n")
        text = self.refused("unit.csv")
        self.assertLess(len(text), 100_000)

    def test_usage(self):
        for arguments in ([], ["prove"], ["fly", "job"], ["show", "unit"], ["show", "nix", "job"],
                          ["why", "job"], ["show", "unit", "job", "--format", "nix"],
                          ["show", "unit", "job", "-o"], ["prove", "job", "job"],
                          ["prove", "--nix", "job"]):
            with self.subTest(arguments=arguments):
                done = self.run_program(*arguments)
                self.assertEqual(done.returncode, 2, done.text)
                self.assertNotEqual(done.text, "")
        self.assertIn("unit", self.run_program("show", "unti", "job").text)


class Writing(Job):
    """`show -o` writes a whole file or none; what was there before stays until then."""
    ARGUMENTS = ("show", "port", "job", "--format", "csv", "-o")

    def setUp(self):
        super().setUp()
        self.out = os.path.join(self.folder, "out")
        os.mkdir(self.out)
        self.path = os.path.join(self.out, "port.csv")

    def whole(self):
        done = self.run_program(*self.ARGUMENTS, "whole.csv")
        self.assertIn(done.returncode, (0, 1), done.text)
        with open(os.path.join(self.folder, "whole.csv"), "rb") as file:
            data = file.read()
        self.assertGreater(len(data), 2000, "the table is too short to be cut in half")
        return data

    def check_kept(self, old):
        self.assertEqual(self.leftovers(self.out), [])
        if old is None:
            self.assertEqual(os.listdir(self.out), [])
        else:
            with open(self.path, "rb") as file:
                self.assertEqual(file.read(), old)

    def refuse_limited(self, arguments, old):
        """A file size limit of 512 bytes, with its signal ignored as under many shells."""
        def limit():
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (512, 512))
        self.refused(os.path.basename(self.path), arguments=arguments, preexec_fn=limit,
                     restore_signals=False)
        self.check_kept(old)

    def test_write_that_stops_in_the_middle(self):
        self.whole()
        self.refuse_limited((*self.ARGUMENTS, self.path), None)
        with open(self.path, "wb") as file:
            file.write(b"old\n")
        self.refuse_limited((*self.ARGUMENTS, self.path), b"old\n")

    def test_spreadsheet_that_stops_in_the_middle(self):
        self.path = os.path.join(self.out, "port.xlsx")
        arguments = ("show", "port", "job", "--format", "xlsx", "-o", self.path)
        self.refuse_limited(arguments, None)
        with open(self.path, "wb") as file:
            file.write(b"old\n")
        self.refuse_limited(arguments, b"old\n")

    def test_full_disk(self):
        """On a tiny file system of its own, where the machine lets us make one."""
        mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=4k", "none", self.out],
                                 capture_output=True, check=False).returncode == 0 \
            if os.geteuid() == 0 else False
        if not mounted:
            self.skipTest("no right to mount here; the size limit above does the same")
        self.addCleanup(subprocess.run, ["umount", self.out], check=False)
        self.refused("port.csv", arguments=(*self.ARGUMENTS, self.path))
        self.check_kept(None)

    def test_output_that_takes_nothing(self):
        with open("/dev/full", "wb") as full:
            done = self.run_program("show", "port", "job", stdout=full)
        self.assertEqual(done.returncode, 2)
        self.assertIn("No space left", done.text)

    def test_no_folder_to_write_into(self):
        self.refused("missing", arguments=(*self.ARGUMENTS, os.path.join("missing", "port.csv")))

    def test_folder_that_may_not_be_written(self):
        os.chmod(self.out, 0o555)
        self.addCleanup(os.chmod, self.out, 0o755)
        self.refused("port.csv", "Permission denied", arguments=(*self.ARGUMENTS, self.path),
                     as_nobody=True)
        self.check_kept(None)

    def test_killed_at_any_moment(self):
        """Forty kills spread over the run time: the file is the old one or the whole new one."""
        new = self.whole()
        began = time.monotonic()
        self.run_program(*self.ARGUMENTS, "timed.csv")
        took = time.monotonic() - began
        with open(self.path, "wb") as file:
            file.write(b"old\n")
        killed = 0
        for step in range(40):
            process = subprocess.Popen([PROGRAM, *self.ARGUMENTS, self.path], cwd=self.folder,
                                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            time.sleep(took * step / 35)
            process.kill()
            killed += process.wait() == -signal.SIGKILL
            with open(self.path, "rb") as file:
                self.assertIn(file.read(), (b"old\n", new))
        self.assertGreater(killed, 0)


if __name__ == "__main__":
    unittest.main()
