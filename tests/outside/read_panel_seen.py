#!/usr/bin/python3
"""What a customer signs: the hash of everything that is seen, what `compare` says of a change, and
the pictures, read back with other people's programs.

    read_panel_seen.py MARLING
"""
import csv
import io
import os
import random
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as xml

PROGRAM = os.path.abspath(sys.argv.pop(1)) if len(sys.argv) > 1 else ""
ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
sys.path.insert(0, os.path.join(ROOT, "tests", "tool"))
import jobs  # noqa: E402

LIBRARY = os.path.join(ROOT, "library")
MENDED = os.path.join(ROOT, "examples", "osier_mended")

# (edit, row of the panel that must say so: kind and key, word)
SEEN = [
    ("set mount item=SBY : v_mm=189.5", "item SBY", "moved"),
    ("set mount item=SBY : rotation_deg=45", "item SBY", "moved"),
    ("set mount item=CBA1 : cutout=breaker-dee", "item CBA1", "changed"),
    ("set mount item=CB31 : serves=spare", "item CB31", "changed"),
    ("drop mount item=USB", "item USB", "removed"),
    ("set option option=O5 : chosen=no", "item USB", "removed"),
    ("set legend legend=SW_HFN : text=CABIN", "legend SW_HFN", "changed"),
    ("set legend legend=SW_HFN : letter_mm=5", "legend SW_HFN", "changed"),
    ("set legend legend=SW_HFN : u_mm=-213", "legend SW_HFN", "moved"),
    ("set outline face=MAIN point=3 : v_mm=231", "face MAIN", "changed"),
    ("set panel_coat step=2 : finish=powder-charcoal", "face MAIN", "changed"),
    ("set protection tag=CB_SBY : rating_a=3", "item CB02", "changed"),
    ("drop panel_coat step=4", "band MAIN.4", "removed"),
]
# Nobody in the seat sees these.
UNSEEN = [
    "set panel_face face=MAIN : kerf_by=shop kerf_mm=0.2",
    "set panel_face face=MAIN : coat_by=cutter",
    "set behind behind=Z1 : depth_mm=151",
    "set seat seat=pilot : reach_mm=690",
    "set mount item=SBY : use=other",
    "set mount item=CB01 : pinned=yes",
]


def run(*arguments):
    return subprocess.run([PROGRAM, *arguments, "-l", LIBRARY], capture_output=True, text=True)


class Seen(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.holder = tempfile.TemporaryDirectory()
        cls.folder = cls.holder.name

    @classmethod
    def tearDownClass(cls):
        cls.holder.cleanup()

    def job(self, name, *edits):
        folder = os.path.join(self.folder, name)
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(MENDED, folder)
        jobs.apply_edits(folder, list(edits))
        return folder

    def panel_rows(self, before, after):
        done = run("compare", before, after, "--format", "csv")
        self.assertEqual(done.returncode, 0, done.stderr)
        return [row for row in csv.DictReader(io.StringIO(done.stdout)) if row["table"] == "panel"]

    def test_every_visible_change_makes_a_new_hash_and_is_named(self):
        hashes = set()
        for edit, key, word in SEEN:
            rows = self.panel_rows(MENDED, self.job("changed", edit))
            heads = [row for row in rows if row["row"] == "seen hash"]
            self.assertEqual(len(heads), 1, edit)
            self.assertNotEqual(heads[0]["before"], heads[0]["after"])
            self.assertRegex(heads[0]["after"], "^[0-9a-f]{64}$")
            hashes.add(heads[0]["after"])
            self.assertIn((key, word), [(row["row"], row["column"]) for row in rows], edit)
        # Leaving an option out and dropping its items show the same panel.
        self.assertEqual(len(hashes), len(SEEN) - 1)

    def test_what_nobody_sees_leaves_the_hash(self):
        for edit in UNSEEN:
            rows = self.panel_rows(MENDED, self.job("unseen", edit))
            self.assertEqual([row for row in rows if row["row"] == "seen hash"], [], edit)

    def test_a_hole_that_is_cut_otherwise_is_said_though_nobody_sees_it(self):
        rows = self.panel_rows(MENDED, self.job("kerf", UNSEEN[0]))
        words = {row["column"] for row in rows}
        self.assertEqual(words, {"cut again"})
        self.assertGreater(len(rows), 60)

    def test_only_what_moved_is_cut_again(self):
        rows = self.panel_rows(MENDED, self.job("moved", "set mount item=SBY : v_mm=189"))
        said = [(row["row"], row["column"], row["before"], row["after"]) for row in rows[1:]]
        self.assertEqual(said, [
            ("item SBY", "moved", "u -462.00 v 190.00 mm", "u -462.00 v 189.00 mm"),
            ("cut SBY", "cut again", "", "")])

    def test_the_order_of_rows_is_nothing(self):
        folder = self.job("shuffled")
        draw = random.Random(7)
        for table in ("mount", "legend", "panel_coat", "align", "behind"):
            path = os.path.join(folder, table + ".csv")
            head, rows = jobs.read_table(path)
            draw.shuffle(rows)
            jobs.write_table(path, head, rows)
        self.assertEqual(self.panel_rows(MENDED, folder), [])

    def test_the_page_states_the_hash_and_what_lies_behind_goes_with_it(self):
        path = os.path.join(self.folder, "approval.pdf")
        done = run("draw", "panel-approval", MENDED, "--paper", "A4", "-o", path)
        self.assertEqual(done.returncode, 0, done.stderr)
        pages = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True,
                               check=True).stdout.split("\f")[:-1]
        self.assertEqual(len(pages), 2)
        parts = re.findall(r"\b[0-9a-f]{64}\b", pages[0])
        rows = self.panel_rows(MENDED, self.job("page", SEEN[0][0]))
        self.assertEqual("".join(parts), rows[0]["before"])
        self.assertIn("SBY", pages[0])
        self.assertNotIn("certified", pages[0].lower())
        behind = " ".join(pages[1].split())
        # How deep things are and what is free there, as the tables have it.
        for words in ("SBY 142 of 150 mm", "PD2 130 of 138 mm", "NVC 355 of 385 mm",
                      "hash " + rows[0]["before"][:8], "page 2 of 2"):
            self.assertIn(words, behind)

    def drawn(self, name, ending, turn=0):
        path = os.path.join(self.folder, "%s%d.%s" % (name, turn, ending))
        done = run("draw", name, MENDED, "-o", path)
        self.assertEqual(done.returncode, 0, done.stderr)
        with open(path, "rb") as file:
            return file.read()

    def test_pictures_for_the_browser_need_no_typeface(self):
        for name in ("panel-front", "panel-rear", "panel-side"):
            data = self.drawn(name, "svg")
            tags = {at.tag.split("}")[1] for at in xml.fromstring(data).iter()}
            self.assertNotIn("text", tags)
            self.assertIn("path", tags)
        self.assertEqual(self.drawn("panel-side", "svg", 1), data)

    def test_pictures_on_paper_need_no_typeface(self):
        self.drawn("panel-option-O5", "pdf")
        path = os.path.join(self.folder, "panel-option-O50.pdf")
        fonts = subprocess.run(["pdffonts", path], capture_output=True, text=True,
                               check=True).stdout
        self.assertEqual(len(fonts.splitlines()), 2)

    def test_pictures_are_4k_and_the_same_twice(self):
        data = self.drawn("panel-front", "png")
        width, height = struct.unpack(">II", data[16:24])
        self.assertEqual((width, height), (3840, 2160))
        self.assertEqual(self.drawn("panel-front", "png", 1), data)

    def test_a_picture_of_what_differs(self):
        path = os.path.join(self.folder, "differs.png")
        done = run("compare", MENDED, self.job("overlay", SEEN[0][0]), "-o", path)
        self.assertEqual(done.returncode, 0, done.stderr)
        with open(path, "rb") as file:
            self.assertEqual(file.read(8), b"\x89PNG\r\n\x1a\n")

    def test_an_option_out_changes_only_its_own_place(self):
        wide, rows = self.rows_of("panel-front", MENDED)
        _, other = self.rows_of("panel-front", self.job("without", "drop mount item=USB"))
        # The head and the foot print hashes.
        low, high = len(rows) // 8, len(rows) * 3 // 4
        differs = [x for left, right in zip(rows[low:high], other[low:high]) if left != right
                   for x in range(wide) if left[3 * x:3 * x + 3] != right[3 * x:3 * x + 3]]
        self.assertGreater(len(differs), 100)
        # u = 462 of -520 ... 520, within the margins of the page.
        self.assertGreater(min(differs), 0.85 * wide)
        self.assertLess(max(differs), 0.96 * wide)

    def rows_of(self, name, job):
        """Rows of the picture at 24 dots an inch, by poppler."""
        path = os.path.join(self.folder, "rows.pdf")
        self.assertEqual(run("draw", name, job, "-o", path).returncode, 0)
        data = subprocess.run(["pdftoppm", "-r", "24", path], capture_output=True,
                              check=True).stdout
        kind, wide, high, most = data.split(None, 4)[:4]
        self.assertEqual((kind, most), (b"P6", b"255"))
        wide, high = int(wide), int(high)
        pixels = data[len(data) - 3 * wide * high:]
        return wide, [pixels[3 * wide * y:3 * wide * (y + 1)] for y in range(high)]

    def test_wrong_names_are_told(self):
        path = os.path.join(self.folder, "x.dxf")
        done = run("draw", "panel-cut-MIAN", MENDED, "-o", path)
        self.assertEqual(done.returncode, 2)
        self.assertIn("did you mean MAIN", done.stderr)
        done = run("draw", "panel-cut", MENDED, "-o", os.path.join(self.folder, "x.png"))
        self.assertEqual(done.returncode, 2)
        self.assertIn(".dxf", done.stderr)
        done = run("draw", "panel-front", os.path.join(ROOT, "examples", "first"), "-o",
                   os.path.join(self.folder, "x.png"))
        self.assertEqual(done.returncode, 2)
        self.assertIn("no panel", done.stderr)


if __name__ == "__main__":
    unittest.main()
