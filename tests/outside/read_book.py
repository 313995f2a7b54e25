#!/usr/bin/python3
"""The book of the example read back with programs that are not ours: poppler and qpdf for the PDF,
openpyxl for the spreadsheet, sha256sum for the list of files, csv for the tables.

    read_book.py PROGRAM
"""
import collections
import csv
import json
import os
import re
import subprocess
import sys
import tempfile
import unittest

import openpyxl

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
JOB = os.path.join(ROOT, "examples", "osier_mended")
PROGRAM = os.path.abspath(sys.argv.pop(1)) if len(sys.argv) > 1 else ""


def output_of(*command, **options):
    return subprocess.run(command, capture_output=True, check=True, **options).stdout.decode()


class Book(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.holder = tempfile.TemporaryDirectory()
        cls.book = os.path.join(cls.holder.name, "book")
        output_of(PROGRAM, "book", JOB, "-o", cls.book)
        cls.pdf = os.path.join(cls.book, "book.pdf")
        cls.text = output_of("pdftotext", "-layout", cls.pdf, "-")

    @classmethod
    def tearDownClass(cls):
        cls.holder.cleanup()

    def table(self, name):
        with open(os.path.join(self.book, "tables", name + ".csv"), encoding="utf-8",
                  newline="") as file:
            return list(csv.DictReader(file))

    def test_manifest_names_every_file(self):
        output_of("sha256sum", "--strict", "-c", "MANIFEST", cwd=self.book)
        with open(os.path.join(self.book, "MANIFEST"), encoding="utf-8") as file:
            named = {line.split("  ", 1)[1].rstrip("\n") for line in file}
        there = {os.path.relpath(os.path.join(root, name), self.book)
                 for root, _, names in os.walk(self.book) for name in names}
        self.assertEqual(named, there - {"MANIFEST"})

    def test_same_input_same_bytes(self):
        again = os.path.join(self.holder.name, "again")
        output_of(PROGRAM, "book", JOB, "-o", again)
        with open(os.path.join(self.book, "MANIFEST"), "rb") as one, \
                open(os.path.join(again, "MANIFEST"), "rb") as other:
            self.assertEqual(one.read(), other.read())

    def test_pdf_is_sound(self):
        output_of("qpdf", "--check", self.pdf)
        info = output_of("pdfinfo", self.pdf)
        pages = int(re.search(r"Pages:\s+(\d+)", info).group(1))
        self.assertGreater(pages, 20)
        self.assertEqual(self.text.count("\f"), pages)
        numbers = self.numbers()
        front = sum(not number.isdigit() for number in numbers)
        self.assertEqual(numbers[:front], ["i", "ii", "iii", "iv", "v"][:front])
        self.assertEqual(numbers[front:], [str(i + 1) for i in range(pages - front)])
        self.assertIn(f"page {pages - front} of {pages - front}", self.text)
        # Readers show the same numbers.
        with open(self.pdf, "rb") as file:
            self.assertIn(b"/PageLabels", file.read())

    def test_fonts_are_embedded(self):
        lines = output_of("pdffonts", self.pdf).splitlines()[2:]
        self.assertTrue(lines)
        for line in lines:
            self.assertEqual(line.split()[-5:-2], ["yes", "yes", "yes"], line)

    def test_every_page_carries_caution_and_revision(self):
        pages = self.text.split("\f")[:-1]
        hash8 = re.search(r"SHA-256 ([0-9a-f]{8})", self.text).group(1)
        for number, page in enumerate(pages, 1):
            self.assertIn("For amateur-built aircraft", page, f"page {number}")
            self.assertIn(hash8, page, f"page {number}")

    def test_bookmarks_lead_to_pages(self):
        bookmarks = []

        def walk(outlines):
            for outline in outlines:
                bookmarks.append((outline["title"], outline["destpageposfrom1"]))
                walk(outline["kids"])
        walk(self.document()["outlines"])
        count = self.text.count("\f")
        # Every page has its own; parts lead to the first page of theirs.
        self.assertEqual({page for _, page in bookmarks}, set(range(1, count + 1)))
        self.assertGreater(len(bookmarks), count)

    def document(self):
        """What qpdf reads; it leaves with 3 after a warning, and output_of then fails."""
        return json.loads(output_of("qpdf", "--json", self.pdf))

    @staticmethod
    def names_of(objects, node):
        """(name, page) of a tree of destinations, ISO 32000-1, 7.9.6."""
        tree = objects[node] if isinstance(node, str) else node
        names = tree.get("/Names", [])
        for name, goal in zip(names[::2], names[1::2]):
            yield name, (objects[goal] if isinstance(goal, str) else goal)[0]
        for kid in tree.get("/Kids", []):
            yield from Book.names_of(objects, kid)

    def test_links_lead_to_pages(self):
        document = self.document()
        values = document["qpdf"][1]
        objects = {name[4:]: value["value"] for name, value in values.items() if "value" in value}
        pages = [page["object"] for page in document["pages"]]
        catalogue = objects[values["trailer"]["value"]["/Root"]]
        found = list(self.names_of(objects, objects[catalogue["/Names"]]["/Dests"]))
        goals = dict(found)
        self.assertEqual(len(goals), len(found))
        self.assertLessEqual(set(goals.values()), set(pages))
        counted = 0
        for page in pages:
            _, _, width, height = objects[page]["/MediaBox"]
            links = objects[page].get("/Annots", [])
            links = objects[links] if isinstance(links, str) else links
            for link in (objects[name] for name in links):
                self.assertEqual(link["/Subtype"], "/Link")
                left, bottom, right, top = link["/Rect"]
                self.assertTrue(0 <= left < right <= width and 0 <= bottom < top <= height, link)
                if isinstance(link.get("/Dest"), list):
                    self.assertIn(link["/Dest"][0], pages)
                elif "/Dest" in link:
                    self.assertIn(link["/Dest"], goals)
                else:
                    self.assertRegex(link["/A"]["/URI"], "^u:https?://")
                counted += 1
        self.assertGreater(counted, len(pages))

    def numbers(self):
        """What the title strip of each page says its number is."""
        return [re.findall(r"  page (\w+)(?: of \d+)? ", page)[-1]
                for page in self.text.split("\f")[:-1]]

    def pages_titled(self, word):
        """Texts of the pages whose title strip begins with `word`."""
        pages = [page for page, number in zip(self.text.split("\f"), self.numbers())
                 if re.search(rf"^ *{word}: .*page {number} of", page, re.M)]
        self.assertGreater(len(pages), 5)
        return pages

    def test_every_conductor_stands_on_a_wiring_diagram(self):
        words = set(re.findall(r"W\d+", " ".join(self.pages_titled("Wiring"))))
        missing = [row["wire"] for row in self.table("conductor") if row["wire"] not in words]
        self.assertEqual(missing, [])

    def test_every_cavity_in_use_stands_at_both_halves(self):
        """In the tables of the connector sheets: a row with the cavity and the wire at either half of
        the disconnect."""
        rows = collections.Counter()
        for page in self.pages_titled("Connectors"):
            rows.update(re.findall(r"(?<!\S)(\w+) +(W\d+(?:\.S)?)(?!\S)", page))
        uses = collections.Counter((row["cavity"], row["wire"])
                                   for row in self.table("cavity_use"))
        self.assertGreater(len(uses), 200)
        self.assertEqual({use: rows[use] for use in uses},
                         {use: 2 * count for use, count in uses.items()})

    def test_labels_stand_in_their_own_file(self):
        labels = os.path.join(self.book, "labels.pdf")
        output_of("qpdf", "--check", labels)
        words = set(re.findall(r"W\d+", output_of("pdftotext", labels, "-")))
        self.assertEqual([row["wire"] for row in self.table("conductor")
                          if row["wire"] not in words], [])

    def test_spreadsheet_holds_the_tables(self):
        book = openpyxl.load_workbook(os.path.join(self.book, "job.xlsx"), read_only=True)
        for name in ("conductor", "cavity_use", "finding", "unit"):
            rows = list(book[name].iter_rows(values_only=True))
            head = next(i for i, row in enumerate(rows) if row[0] and not
                        str(row[0]).startswith("#"))
            table = self.table(name)
            columns = [str(cell) for cell in rows[head] if cell is not None]
            self.assertEqual(columns, list(table[0].keys()), name)
            self.assertEqual(len(rows) - head - 1, len(table), name)
            for row, cells in zip(table, rows[head + 1:]):
                for column, cell in zip(columns, cells):
                    self.same(row[column], cell, f"{name} {column}")

    def same(self, text, cell, where):
        if isinstance(cell, (int, float)) and not isinstance(cell, bool):
            self.assertAlmostEqual(float(text), float(cell), delta=1e-9 * max(1, abs(float(cell))),
                                   msg=where)
        else:
            self.assertEqual(text, "" if cell is None else str(cell), where)


if __name__ == "__main__":
    unittest.main()
