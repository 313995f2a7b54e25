#!/usr/bin/python3
"""Printed pages of a board put together again as a person does it, by their register marks: poppler
turns each page into lines (and into pixels), marks are found by their look, pages are laid mark
over mark, and what then lies on the table is held against the plotter sheet. Marks coincide within
0.2 mm on every joint, what neighbours share is the same, both scale bars measure 1,000 mm, and where
no page is printed the plotter sheet is white.

    read_tiles.py MARLING
"""
import copy
import math
import os
import re
import shutil
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as xml

import numpy

PROGRAM = os.path.abspath(sys.argv.pop(1)) if len(sys.argv) > 1 else ""
ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
LIBRARY = os.path.join(ROOT, "library")
MENDED = os.path.join(ROOT, "examples", "osier_mended")
MM = 25.4 / 72.0

JOINT_MM = 0.2     # marks over marks
SAME_MM = 0.1      # corners of what is drawn, tiles against plot
MARK_MM = (2.5, 10.0)  # radius of a register mark's ring, length of its strokes
DATUM_MM = 5.0     # radius of the datum's ring, length of its strokes
CROSS_MM = 16.0
BAR_MM = 1000.0
PAPERS = {"A4": (297.0, 210.0), "A3": (420.0, 297.0), "Letter": (279.4, 215.9)}
PIXELS_MM = 4      # of pictures
DARK = 200         # of 255
FRAME_MM = 0.75    # lines of frames, which pages do not share


def output_of(*command):
    return subprocess.run(command, capture_output=True, check=True).stdout.decode()


def draw(name, path, *more):
    done = subprocess.run([PROGRAM, "draw", name, MENDED, "-l", LIBRARY, "-o", path, *more],
                          capture_output=True, text=True)
    if done.returncode != 0:
        raise AssertionError(done.stderr)


# --- one page ------------------------------------------------------------------------------------


def strokes_of(svg):
    """Lines ((x, y), (x, y)), rings (x, y, radius) and closed four-cornered frames, in mm."""
    lines, rings, frames = [], [], []
    for path in xml.parse(svg).iter("{http://www.w3.org/2000/svg}path"):
        style = path.get("style", "")
        if "stroke-width" not in style:
            continue
        if path.get("transform"):
            a, b, c, d, e, f = (float(v) for v in re.findall(r"-?[\d.]+", path.get("transform")))
        else:
            a, b, c, d, e, f = 1.0, 0.0, 0.0, 1.0, 0.0, 0.0
        words = path.get("d").split()
        points, curves, i = [], 0, 0

        def finish(closed):
            if curves >= 4 and closed:
                xs, ys = [p[0] for p in points], [p[1] for p in points]
                rings.append(((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2,
                              (max(xs) - min(xs)) / 2))
            elif not curves:
                corners = points + points[:1] if closed else points
                lines.extend(zip(corners, corners[1:]))
                if closed and len(points) == 4:
                    frames.append(points)

        while i < len(words):
            word = words[i]
            if word == "M":
                finish(False)
                points, curves = [], 0
            elif word == "Z":
                finish(True)
                points, curves = [], 0
                i += 1
                continue
            count = {"M": 1, "L": 1, "C": 3}[word]
            x, y = (float(v) for v in words[i + 2 * count - 1:i + 2 * count + 1])
            points.append(((a * x + c * y + e) * MM, (b * x + d * y + f) * MM))
            curves += word == "C"
            i += 1 + 2 * count
        finish(False)
    return lines, rings, frames


class Page:
    """What poppler makes of a page."""

    def __init__(self, pdf, number, text, folder):
        svg = os.path.join(folder, "page.svg")
        subprocess.run(["pdftocairo", "-svg", "-noshrink", "-nocenter", "-f", str(number), "-l",
                        str(number), pdf, svg], check=True, capture_output=True)
        self.number = number
        self.lines, self.rings, frames = strokes_of(svg)
        found = re.search(r"page ([A-Z]+)(\d+) of (\d+) x (\d+)", text)
        if not found:
            raise AssertionError("page %d says not which it is: %s" % (number, text[-100:]))
        letters = found.group(1)
        self.row = ord(letters[-1]) - ord("A") + (26 * (ord(letters[0]) - ord("A") + 1)
                                                  if len(letters) == 2 else 0)
        self.column = int(found.group(2)) - 1
        self.rows, self.columns = int(found.group(3)), int(found.group(4))
        largest = max(frames, key=lambda f: max(p[0] for p in f) - min(p[0] for p in f))
        self.left, self.right = (pick(p[0] for p in largest) for pick in (min, max))
        self.top, self.low = (pick(p[1] for p in largest) for pick in (min, max))
        self.marks = [(x, y) for x, y, radius in self.rings if self.is_mark(x, y, radius)]
        self.place = None

    def is_mark(self, x, y, radius):
        """A ring with a stroke across and one along through its middle."""
        if abs(radius - MARK_MM[0]) > 0.05:
            return False
        through = [(x1 - x2, y1 - y2) for (x1, y1), (x2, y2) in self.lines
                   if abs((x1 + x2) / 2 - x) < 0.05 and abs((y1 + y2) / 2 - y) < 0.05 and
                   abs(math.hypot(x1 - x2, y1 - y2) - MARK_MM[1]) < 0.05]
        return any(abs(dx) < 0.01 for dx, _ in through) and any(abs(dy) < 0.01 for _, dy in through)

    def side(self, name):
        """Its marks near an edge, along it."""
        middle_x, middle_y = (self.left + self.right) / 2, (self.top + self.low) / 2
        pick = {"left": lambda m: m[0] < middle_x, "right": lambda m: m[0] > middle_x,
                "top": lambda m: m[1] < middle_y, "low": lambda m: m[1] > middle_y}[name]
        return sorted((m for m in self.marks if pick(m)), key=lambda m: (m[1], m[0]))

    def inside(self, x, y, by=0.3):
        return (self.left + by < x < self.right - by) and (self.top + by < y < self.low - by)

    def corners(self):
        """Ends of lines and middles of rings that are printed, but for marks and frame."""
        found = [p for line in self.lines for p in line] + [(x, y) for x, y, _ in self.rings]
        return [(x, y) for x, y in found if self.inside(x, y, 0.5) and
                all(math.dist((x, y), mark) > MARK_MM[1] for mark in self.marks)]

    def on_table(self, point):
        return point[0] + self.place[0], point[1] + self.place[1]


def pages_of(pdf, first, folder):
    """All from `first`, which is 1 or, after the map of pages, 2."""
    texts = [" ".join(text.split()) for text in output_of("pdftotext", pdf, "-").split("\f")[:-1]]
    return [Page(pdf, i + 1, texts[i], folder) for i in range(first - 1, len(texts))]


# --- putting together ----------------------------------------------------------------------------


def joint(page, other, side, other_side):
    """Where `other` lies against `page`, and how far apart the worst marks are then."""
    own, its = page.side(side), other.side(other_side)
    if len(own) != len(its) or not own:
        raise AssertionError("pages %d and %d: %d and %d marks" % (page.number, other.number,
                                                                   len(own), len(its)))
    dx = sum(a[0] - b[0] for a, b in zip(own, its)) / len(own)
    dy = sum(a[1] - b[1] for a, b in zip(own, its)) / len(own)
    worst = max(math.hypot(a[0] - b[0] - dx, a[1] - b[1] - dy) for a, b in zip(own, its))
    return dx, dy, worst


def put_together(pages, left_out=0):
    """Lays every page beside those that lie; the worst of all joints, also of those between pages
    that came to lie by other ways."""
    grid = {(page.row, page.column): page for page in pages}
    first = pages[0]
    if len(grid) != len(pages) or len(pages) + left_out != first.rows * first.columns:
        raise AssertionError("%d pages of %d x %d" % (len(grid), first.rows, first.columns))
    worst = 0.0
    for page in pages:
        page.place = None
    first.place = (0.0, 0.0)
    waiting = [first]
    while waiting:
        page = waiting.pop(0)
        for step, side, other_side in (((0, 1), "right", "left"), ((1, 0), "low", "top"),
                                       ((0, -1), "left", "right"), ((-1, 0), "top", "low")):
            other = grid.get((page.row + step[0], page.column + step[1]))
            if other is None:
                continue
            dx, dy, apart = joint(page, other, side, other_side)
            place = (page.place[0] + dx, page.place[1] + dy)
            if other.place is None:
                other.place = place
                waiting.append(other)
            worst = max(worst, apart, math.dist(place, other.place))
    if any(page.place is None for page in pages):
        raise AssertionError("a page that nothing joins")
    return worst


class Cells:
    """Points by their cells of a millimetre."""

    def __init__(self, points):
        self.cells = {}
        for point in points:
            self.cells.setdefault((math.floor(point[0]), math.floor(point[1])), []).append(point)

    def near(self, point, by):
        x, y = math.floor(point[0]), math.floor(point[1])
        return any(math.dist(point, other) < by for i in (-1, 0, 1) for k in (-1, 0, 1)
                   for other in self.cells.get((x + i, y + k), ()))


def strangers(pages, plot, shift):
    """Corners on one of tiles and plot alone. `shift`: from the table to the plot."""
    wrong, count = [], 0
    plot_corners = plot.corners()
    on_plot = Cells(plot_corners)
    tiles = []
    for page in pages:
        for corner in page.corners():
            x, y = page.on_table(corner)
            tiles.append((x + shift[0], y + shift[1]))
            count += 1
            if plot.inside(*tiles[-1]) and not on_plot.near(tiles[-1], SAME_MM):
                wrong.append(("only on page %d" % page.number, tiles[-1]))
    on_tiles = Cells(tiles)
    marks = Cells([(x + page.place[0] + shift[0], y + page.place[1] + shift[1])
                   for page in pages for x, y in page.marks])
    for corner in plot_corners:
        beside_mark = any(marks.near((corner[0] + i, corner[1] + k), 1.5)
                          for i in range(-11, 12) for k in range(-11, 12))
        if not beside_mark and not on_tiles.near(corner, SAME_MM):
            wrong.append(("only on the plot", corner))
    return wrong, count


def datum_of(page):
    """A ring of that size with a cross through its middle; rings of studs have none."""
    middles = Cells([((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in page.lines
                     if abs(math.dist(a, b) - CROSS_MM) < 0.05])
    found = [(x, y) for x, y, radius in page.rings
             if abs(radius - DATUM_MM) < 0.02 and page.inside(x, y) and middles.near((x, y), 0.05)]
    return found[0] if found else None


def bars_on(pages):
    """Lengths of the scale bars, from where their two ends are printed."""
    ends = {"across": set(), "along": set()}
    for page in pages:
        for a, b in page.lines:
            for way, same, other in (("across", 1, 0), ("along", 0, 1)):
                if abs(a[same] - b[same]) < 0.01 and abs(abs(a[other] - b[other]) - BAR_MM) < 1.0:
                    ends[way] |= {tuple(round(v, 3) for v in page.on_table(p)) for p in (a, b)
                                  if page.inside(*p)}
    lengths = {}
    for way, other in (("across", 0), ("along", 1)):
        places = [p[other] for p in ends[way]]
        lengths[way] = (max(places) - min(places), places)
    return lengths


# --- pictures ------------------------------------------------------------------------------------


def picture_of(path):
    with open(path, "rb") as file:
        kind, size, _, data = file.read().split(b"\n", 3)
    if kind != b"P5":
        raise AssertionError(kind)
    width, height = (int(v) for v in size.split())
    return numpy.frombuffer(data, dtype=numpy.uint8, count=width * height).reshape(height, width)


def only_on(dark, other):
    """Whether something is dark that is not dark, nor beside something dark, on the other; the rim,
    beside which nothing is known, apart."""
    return (dark & ~grown(other))[1:-1, 1:-1].any()


def grown(dark):
    """Dark, or beside something dark."""
    wide = numpy.pad(dark, 1)
    out = numpy.zeros_like(dark)
    height, width = dark.shape
    for i in range(3):
        for k in range(3):
            out |= wide[i:i + height, k:k + width]
    return out


def pictures_of(pdf, folder):
    stem = os.path.join(folder, "picture-" + os.path.splitext(os.path.basename(pdf))[0])
    subprocess.run(["pdftoppm", "-gray", "-r", str(25.4 * PIXELS_MM), pdf, stem], check=True)
    names = [n for n in os.listdir(folder) if n.startswith(os.path.basename(stem) + "-")]
    return {int(re.search(r"(\d+)\.pgm$", n).group(1)): os.path.join(folder, n) for n in names}


def dark_in_both(one, two, part, shift):
    """What is dark in a part (left, top, right, low) of a picture, and there in another to which it
    is shifted by so much: mm, to the nearest pixel."""
    left, top, right, low = (round(v * PIXELS_MM) for v in part)
    dx, dy = (round(v * PIXELS_MM) for v in shift)
    return (one[top:low, left:right] < DARK,
            two[top + dy:low + dy, left + dx:right + dx] < DARK)


class Tiles(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.mkdtemp()
        cls.plot_pdf = os.path.join(cls.folder, "plot.pdf")
        draw("board-RWG-plot", cls.plot_pdf)
        cls.plot, = pages_of(cls.plot_pdf, 1, cls.folder)
        cls.plot.place = (0.0, 0.0)
        cls.pages, cls.left_out = {}, {}

    @classmethod
    def tearDownClass(cls):
        shutil.rmtree(cls.folder)

    def pdf(self, paper):
        return os.path.join(self.folder, paper + ".pdf")

    def of(self, paper):
        """All pages of a board on a paper, the map apart, put together."""
        if paper not in self.pages:
            draw("board-RWG-tiles", self.pdf(paper), "--paper", paper)
            info = output_of("pdfinfo", self.pdf(paper))
            width, height = (float(v) * MM for v in
                             re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", info).groups())
            self.assertAlmostEqual(width, PAPERS[paper][0], delta=0.1)
            self.assertAlmostEqual(height, PAPERS[paper][1], delta=0.1)
            pages = pages_of(self.pdf(paper), 2, self.folder)
            said = output_of("pdftotext", "-l", "1", self.pdf(paper), "-").replace("\n", " ")
            self.assertEqual(int(re.search(r"map of (\d+) pages", said).group(1)), len(pages))
            left_out, grid = (int(v) for v in
                              re.search(r"(\d+) of the grid's (\d+) pages", said).groups())
            self.assertEqual(left_out + len(pages), grid)
            self.assertGreater(left_out, 5)
            self.left_out[paper] = left_out
            self.worst = put_together(pages, left_out)
            self.assertLess(self.worst, JOINT_MM, paper)
            self.pages[paper] = pages
        return self.pages[paper]

    def shift(self, pages):
        """From the table to the plot: by the datum."""
        seen = [page.on_table(datum_of(page)) for page in pages if datum_of(page)]
        self.assertGreaterEqual(len(seen), 1)
        for place in seen:
            self.assertLess(math.dist(place, seen[0]), JOINT_MM)
        datum = datum_of(self.plot)
        return datum[0] - seen[0][0], datum[1] - seen[0][1]

    def check_paper(self, paper):
        pages = self.of(paper)
        shared = [page for page in pages if page.rows > 1 and page.columns > 1]
        self.assertEqual(len(shared), len(pages))
        wrong, count = strangers(pages, self.plot, self.shift(pages))
        self.assertEqual(wrong[:5], [], paper)
        self.assertGreater(count, 300)
        for way, (length, places) in bars_on(pages).items():
            self.assertGreaterEqual(len(places), 2)
            self.assertAlmostEqual(length, BAR_MM, delta=JOINT_MM, msg=way)

    def test_a4(self):
        self.check_paper("A4")

    def test_a3(self):
        self.check_paper("A3")

    def test_letter(self):
        self.check_paper("Letter")

    def test_the_plot_has_both_bars(self):
        for way, (length, places) in bars_on([self.plot]).items():
            self.assertEqual(len(places), 2, way)
            self.assertAlmostEqual(length, BAR_MM, delta=JOINT_MM)

    def test_pixels_are_those_of_the_plot(self):
        """Every page printed in pixels: what is dark on it is dark on the plot or beside, and the
        other way round; and what two neighbours share is the same on both."""
        pages = self.of("A3")
        shift = self.shift(pages)
        pictures = pictures_of(self.pdf("A3"), self.folder)
        plot = picture_of(pictures_of(self.plot_pdf, self.folder)[1])
        dark = 0
        for page in pages:
            # The part of its window that is on the plotter's page.
            x, y = (page.place[i] + shift[i] for i in (0, 1))
            part = (max(page.left, self.plot.left - x) + FRAME_MM,
                    max(page.top, self.plot.top - y) + FRAME_MM,
                    min(page.right, self.plot.right - x) - FRAME_MM,
                    min(page.low, self.plot.low - y) - FRAME_MM)
            own, whole = dark_in_both(picture_of(pictures[page.number]), plot, part, (x, y))
            self.assertFalse(only_on(whole, own), "page %d lacks something" % page.number)
            for mark in page.marks:
                self.clear(own, mark[0] - part[0], mark[1] - part[1])
            self.assertFalse(only_on(own, whole), "page %d has more" % page.number)
            dark += int(own.sum())
            if own.sum() > 5000:
                own, whole = dark_in_both(picture_of(pictures[page.number]), plot, part,
                                          (x + 1.0, y + 1.0))
                self.assertTrue(only_on(whole, own), "a page that lies wrong is not seen")
        self.assertGreater(dark, 100000)

    def clear(self, dark, x, y):
        half = MARK_MM[1] / 2 + 0.5
        low = [max(0, round((v - half) * PIXELS_MM)) for v in (y, x)]
        high = [max(0, round((v + half) * PIXELS_MM)) for v in (y, x)]
        dark[low[0]:high[0], low[1]:high[1]] = False

    def core(self, pages, row, column):
        """Of the plot what a tile is nearest to: left, top, right, low in mm. Tiles take over from
        each other in the middle of what they share."""
        shift = self.shift(pages)
        first = pages[0]
        x = first.place[0] + shift[0] + first.left
        y = first.place[1] + shift[1] + first.top
        wide, high = first.right - first.left, first.low - first.top
        grid = {(page.row, page.column): page for page in pages}
        step_x = next(grid[r, c + 1].place[0] - page.place[0] for (r, c), page in grid.items()
                      if (r, c + 1) in grid)
        step_y = next(grid[r + 1, c].place[1] - page.place[1] for (r, c), page in grid.items()
                      if (r + 1, c) in grid)
        left = x + (column - first.column) * step_x + (wide - step_x) / 2
        top = y + (row - first.row) * step_y + (high - step_y) / 2
        return (max(left, self.plot.left + 1), max(top, self.plot.top + 1),
                min(left + step_x, self.plot.right - 1), min(top + step_y, self.plot.low - 1))

    def without_edges(self, dark, part):
        """What is dark but for the edges of the board: the long lines of the plot."""
        dark = dark.copy()
        for (x1, y1), (x2, y2) in self.plot.lines:
            if math.dist((x1, y1), (x2, y2)) > 1.1 * BAR_MM:
                i, k = (round((v - part[n]) * PIXELS_MM) for n, v in ((0, x1), (1, y1)))
                if abs(x1 - x2) < 0.01 and -4 < i < dark.shape[1] + 4:
                    dark[:, max(0, i - 3):max(0, i + 4)] = False
                if abs(y1 - y2) < 0.01 and -4 < k < dark.shape[0] + 4:
                    dark[max(0, k - 3):max(0, k + 4), :] = False
        return dark

    def hang_together(self, cells):
        cells = set(cells)
        waiting = [min(cells)]
        seen = {min(cells)}
        while waiting:
            row, column = waiting.pop()
            for other in ((row, column + 1), (row + 1, column), (row, column - 1),
                          (row - 1, column)):
                if other in cells and other not in seen:
                    seen.add(other)
                    waiting.append(other)
        return seen == cells

    def test_what_is_not_printed_is_white(self):
        """A page is left out where the plot shows nothing but a board's edge, and nowhere else,
        unless it holds the others together or has a board's corner."""
        picture = picture_of(pictures_of(self.plot_pdf, self.folder)[1])
        ends = {p for line in self.plot.lines if math.dist(*line) > 1.1 * BAR_MM for p in line}
        for paper in PAPERS:
            pages = self.of(paper)
            printed = {(page.row, page.column) for page in pages}
            white = 0
            for row in range(pages[0].rows):
                for column in range(pages[0].columns):
                    part = self.core(pages, row, column)
                    left, top, right, low = (round(v * PIXELS_MM) for v in part)
                    dark = self.without_edges(picture[top:low, left:right] < DARK, part)
                    if (row, column) not in printed:
                        self.assertFalse(dark.any(), "%s %d %d" % (paper, row, column))
                        white += 1
                    elif not dark.any():
                        corner = any(part[0] - 1 < x < part[2] + 1 and part[1] - 1 < y < part[3] + 1
                                     for x, y in ends)
                        self.assertTrue(
                            corner or not self.hang_together(printed - {(row, column)}),
                            "%s %d %d is empty" % (paper, row, column))
            self.assertGreater(white, 5)

    def test_what_neighbours_share_is_the_same(self):
        pages = self.of("A3")
        pictures = pictures_of(self.pdf("A3"), self.folder)
        grid = {(page.row, page.column): page for page in pages}
        looked = dark = 0
        for page in pages:
            for step in ((0, 1), (1, 0)):
                other = grid.get((page.row + step[0], page.column + step[1]))
                if other is None:
                    continue
                dx, dy = (other.place[i] - page.place[i] for i in (0, 1))
                part = (max(page.left, other.left + dx) + FRAME_MM,
                        max(page.top, other.top + dy) + FRAME_MM,
                        min(page.right, other.right + dx) - FRAME_MM,
                        min(page.low, other.low + dy) - FRAME_MM)
                self.assertGreater(min(part[2] - part[0], part[3] - part[1]), 10.0)
                one, two = dark_in_both(picture_of(pictures[page.number]),
                                        picture_of(pictures[other.number]), part, (-dx, -dy))
                self.assertFalse(only_on(one, two) or only_on(two, one),
                                 "pages %d and %d" % (page.number, other.number))
                looked += 1
                dark += int(one.sum())
        self.assertGreaterEqual(looked, len(pages) - 1)
        self.assertGreater(dark, 10000)

    def test_sheets_of_several_boards_join(self):
        """A plotter sheet for each board; FUS needs more than one."""
        path = os.path.join(self.folder, "several.pdf")
        draw("board-FUS-plot", path)
        pages = pages_of(path, 1, self.folder)
        self.assertGreater(len(pages), 1)
        self.assertLess(put_together(pages), JOINT_MM)
        for way, (length, _) in bars_on(pages).items():
            self.assertAlmostEqual(length, BAR_MM, delta=JOINT_MM, msg=way)

    def test_marks_that_are_off_are_seen(self):
        pages = [copy.copy(page) for page in self.of("A3")]
        victim = pages[len(pages) // 2]
        victim.marks = [(x + 0.5 * (i == 0), y) for i, (x, y) in enumerate(victim.marks)]
        self.assertGreater(put_together(pages, self.left_out["A3"]), JOINT_MM)

    def test_a_page_that_lacks_is_seen(self):
        pages = self.of("A3")
        shift = self.shift(pages)
        victim = max(pages, key=lambda page: len(page.corners()))
        wrong, _ = strangers([page for page in pages if page is not victim], self.plot, shift)
        self.assertTrue(any(text == "only on the plot" for text, _ in wrong))

    def test_content_that_is_off_is_seen(self):
        pages = [copy.copy(page) for page in self.of("A3")]
        shift = self.shift(pages)
        victim = max(pages, key=lambda page: len(page.corners()))
        victim.lines = [tuple((x + 0.3, y) for x, y in line) for line in victim.lines]
        wrong, _ = strangers(pages, self.plot, shift)
        self.assertTrue(any("page %d" % victim.number in text for text, _ in wrong))


if __name__ == "__main__":
    unittest.main()
