#!/usr/bin/python3
"""What can go wrong when a job is drawn or its book written: names nobody knows, folders that must
not be touched, a disk that fills up, jobs that are hard to draw. The program says what is wrong, and
what was there before stays.

    test_drawing.py PROGRAM
"""
import csv
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import unittest

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
sys.path.insert(0, os.path.join(ROOT, "tests", "tool"))
import jobs  # noqa: E402

PROGRAM = os.path.abspath(sys.argv.pop(1)) if len(sys.argv) > 1 else ""
SECONDS_LIMIT = 200


class Drawing(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = folder.name
        self.job = os.path.join(self.folder, "job")
        shutil.copytree(os.path.join(ROOT, "examples", "first"), self.job)

    def run_program(self, *arguments, **options):
        done = subprocess.run([PROGRAM, *arguments], cwd=self.folder, stdin=subprocess.DEVNULL,
                              capture_output=True, timeout=SECONDS_LIMIT, check=False, **options)
        self.assertGreaterEqual(done.returncode, 0, f"killed by signal {-done.returncode}")
        done.text = (done.stdout + done.stderr).decode("utf-8", "replace")
        return done

    def refused(self, *words, arguments, **options):
        done = self.run_program(*arguments, **options)
        self.assertEqual(done.returncode, 2, done.text)
        for word in words:
            self.assertIn(word, done.text)
        self.assertEqual([name for name in os.listdir(self.folder) if ".part-" in name], [])

    def written(self, *arguments, **options):
        done = self.run_program(*arguments, **options)
        self.assertEqual(done.returncode, 0, done.text)
        return done.text

    def edit(self, *lines):
        jobs.apply_edits(self.job, lines)

    def read(self, name):
        with open(os.path.join(self.folder, name), "rb") as file:
            return file.read()

    # --- names

    def test_unknown_sheet(self):
        self.refused("no sheet is called covre", "did you mean cover", "--list",
                     arguments=("draw", "covre", "job", "-o", "x.svg"))
        self.assertFalse(os.path.exists(os.path.join(self.folder, "x.svg")))

    def test_unknown_ending(self):
        self.refused("svg", "pdf", "png", "dxf", arguments=("draw", "cover", "job", "-o", "x.gif"))

    def test_unknown_paper_units_phase(self):
        self.refused("no paper is called A33", "did you mean A3", "Tabloid",
                     arguments=("draw", "cover", "job", "-o", "x.svg", "--paper", "A33"))
        self.refused("no unit of length is called inch", "both",
                     arguments=("draw", "cover", "job", "-o", "x.svg", "--units", "inch"))
        self.refused("no phase is called cruize", "there are",
                     arguments=("draw", "cover", "job", "-o", "x.svg", "--phase", "cruize"))

    def test_unknown_label_stock(self):
        self.refused("no label stock is called roll-21", "did you mean roll-12",
                     arguments=("labels", "job", "-o", "x.pdf", "--stock", "roll-21"))
        self.refused("-o FILE", arguments=("labels", "job"))

    def test_words_missing(self):
        self.refused("-o FILE", arguments=("draw", "cover", "job"))
        self.refused("-o FOLDER", arguments=("book", "job"))
        self.refused("SHEET JOB", arguments=("draw", "job", "-o", "x.svg"))

    def test_unreadable_job(self):
        self.edit("set unit tag=NVC : stub_mm=long") if self.has_unit("NVC") else \
            self.edit(f"set unit tag={self.first_unit()} : stub_mm=long")
        self.refused("read.value", "nothing drawn", arguments=("book", "job", "-o", "out"))
        self.assertFalse(os.path.exists(os.path.join(self.folder, "out")))

    def first_unit(self):
        with open(os.path.join(self.job, "unit.csv"), encoding="utf-8", newline="") as file:
            return next(csv.DictReader(file))["tag"]

    def has_unit(self, tag):
        with open(os.path.join(self.job, "unit.csv"), encoding="utf-8", newline="") as file:
            return any(row["tag"] == tag for row in csv.DictReader(file))

    # --- folders

    def test_a_folder_with_other_things_is_left_alone(self):
        os.makedirs(os.path.join(self.folder, "out"))
        with open(os.path.join(self.folder, "out", "letter.txt"), "w", encoding="utf-8") as file:
            file.write("dear customer")
        self.refused("other things", arguments=("book", "job", "-o", "out"))
        self.assertEqual(os.listdir(os.path.join(self.folder, "out")), ["letter.txt"])

    def test_the_job_itself_is_no_place_for_a_book(self):
        before = sorted(os.listdir(self.job))
        self.refused("other things", arguments=("book", "job", "-o", "job"))
        self.assertEqual(sorted(os.listdir(self.job)), before)

    def test_a_file_in_the_way(self):
        with open(os.path.join(self.folder, "out"), "w", encoding="utf-8") as file:
            file.write("dear customer")
        self.refused("out", arguments=("book", "job", "-o", "out"))
        self.assertEqual(self.read("out"), b"dear customer")

    def test_an_earlier_book_is_replaced(self):
        self.written("book", "job", "-o", "out")
        first = self.read("out/MANIFEST")
        self.edit("set job job=first : title=another")
        self.written("book", "job", "-o", "out/")
        self.assertNotEqual(self.read("out/MANIFEST"), first)
        self.assertEqual(sorted(os.listdir(self.folder)), ["job", "out"])

    def test_a_letter_among_an_earlier_book_stays(self):
        self.written("book", "job", "-o", "out")
        manifest = self.read("out/MANIFEST")
        for name in ("letter.txt", "tables/to_the_customer.csv"):
            with open(os.path.join(self.folder, "out", name), "w", encoding="utf-8") as file:
                file.write("dear customer")
            self.refused("other things", name, arguments=("book", "job", "-o", "out"))
            self.assertEqual(self.read("out/" + name), b"dear customer")
            self.assertEqual(self.read("out/MANIFEST"), manifest)
            os.remove(os.path.join(self.folder, "out", name))
        self.written("book", "job", "-o", "out")

    def test_unwritable_folder(self):
        self.refused("/proc/nothing", arguments=("book", "job", "-o", "/proc/nothing/out"))
        self.refused("cannot", arguments=("draw", "cover", "job", "-o", "/proc/nothing/x.pdf"))

    def test_the_disk_fills_up_in_the_middle(self):
        self.written("book", "job", "-o", "out")
        before = self.read("out/MANIFEST")
        self.edit("set job job=first : title=another")
        sizes = sorted(os.path.getsize(os.path.join(root, name))
                       for root, _, names in os.walk(os.path.join(self.folder, "out"))
                       for name in names)
        for limit in (0, 100, sizes[len(sizes) // 2], sizes[-1] * 3 // 4):
            def fill():
                resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
                import signal
                signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            self.refused("out", arguments=("book", "job", "-o", "out"), preexec_fn=fill)
            self.assertEqual(self.read("out/MANIFEST"), before)
            done = subprocess.run(["sha256sum", "--quiet", "-c", "MANIFEST"],
                                  cwd=os.path.join(self.folder, "out"), check=False)
            self.assertEqual(done.returncode, 0)
        for ending in ("svg", "pdf", "png", "dxf"):
            def fill_now():
                resource.setrlimit(resource.RLIMIT_FSIZE, (50, 50))
                import signal
                signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            self.refused("cannot write", arguments=("draw", "cover", "job", "-o", "x." + ending),
                         preexec_fn=fill_now)
            self.assertFalse(os.path.exists(os.path.join(self.folder, "x." + ending)))

    # --- jobs that are hard to draw

    def rename_unit(self, tag):
        """One box gets another tag everywhere."""
        old = self.first_unit()
        for name in os.listdir(self.job):
            path = os.path.join(self.job, name)
            head, rows = jobs.read_table(path)
            rows = [[" ".join(tag + word[len(old):] if word == old or word.startswith(old + ".")
                              else word for word in cell.split(" ")) for cell in row]
                    for row in rows]
            jobs.write_table(path, head, rows)

    def test_a_tag_of_200_characters(self):
        self.rename_unit("X" * 200)
        text = self.written("book", "job", "-o", "out")
        self.assertIn("pages", text)

    def test_a_tag_in_another_script(self):
        self.rename_unit("НАВ1")
        self.written("book", "job", "-o", "out")

    def test_letters_that_no_typeface_has(self):
        self.edit("set job job=first : title=\U00010380\U00010381")
        text = self.written("book", "job", "-o", "out")
        self.assertIn("draw.glyph", text)

    def test_two_boxes_with_300_pins_each(self):
        library = os.path.join(self.folder, "library")
        shutil.copytree(os.path.join(ROOT, "library"), library)
        edits = ["add shell shell=big-300 name=300ways ways=300 contact=22D sealed=no source=x "
                 "status=invented"]
        for kind, direction in (("big-in", "in"), ("big-out", "out")):
            edits += [f"add part part={kind} name=large mass_kg=9 supply=passive source=x "
                      "status=invented",
                      f"add part_connector part={kind} connector=J1 shell=big-300"]
            for pin in range(1, 301):
                edits += [f"add port part={kind} port=P{pin} class=D direction={direction} "
                          "level=low",
                          f"add port_pin part={kind} port=P{pin} core=1 connector=J1 cavity={pin}"]
        jobs.apply_edits(library, edits)
        with open(os.path.join(self.job, "unit.csv"), encoding="utf-8", newline="") as file:
            unit = next(csv.DictReader(file))
        self.edit(*[f"add unit tag={tag} part={part} node={unit['node']} stub_mm=100 "
                    f"module={unit['module']}" for tag, part in (("BI", "big-in"),
                                                                 ("BO", "big-out"))],
                  *[f"add link link=L{pin} 'ends=BO.P{pin} BI.P{pin}'" for pin in range(1, 301)])
        self.written("book", "job", "-o", "out", "--library", "library")
        with open(os.path.join(self.folder, "out", "tables", "conductor.csv"),
                  encoding="utf-8", newline="") as file:
            wires = [row["wire"] for row in csv.DictReader(file)]
        self.assertGreater(len(wires), 300)
        text = subprocess.run(["pdftotext", os.path.join(self.folder, "out", "book.pdf"), "-"],
                              capture_output=True, check=True).stdout.decode()
        words = set(text.split())
        self.assertEqual([wire for wire in wires if wire not in words], [])

    def test_a_job_without_units_of_a_system(self):
        for table in ("link", "pin_net"):
            if os.path.exists(os.path.join(self.job, table + ".csv")):
                self.edit("clear " + table)
        self.written("book", "job", "-o", "out")


if __name__ == "__main__":
    unittest.main()
