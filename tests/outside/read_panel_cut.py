#!/usr/bin/python3
"""Cut files of a panel read back with programs that are not ours: ezdxf reads and audits them,
shapely measures. What must be found is worked out here from the tables of the job and the library,
not by the program.

    read_panel_cut.py MARLING
"""
import csv
import math
import os
import shutil
import subprocess
import sys
import tempfile
import unittest

import ezdxf
import ezdxf.math
import ezdxf.path
from shapely.geometry import Polygon

PROGRAM = os.path.abspath(sys.argv.pop(1)) if len(sys.argv) > 1 else ""
ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
LIBRARY = os.path.join(ROOT, "library")
MENDED = os.path.join(ROOT, "examples", "osier_mended")

# What the file promises.
NEAR_MM = 0.01
# Chords instead of arcs, for measuring only.
CHORD_MM = 0.00001
LETTER_CHORD_MM = 0.01


def rows_of(folder, table):
    with open(os.path.join(folder, table + ".csv"), encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def number(row, column, usual=0.0):
    return float(row[column]) if row.get(column) else usual


def append(folder, table, rows):
    path = os.path.join(folder, table + ".csv")
    with open(path, encoding="utf-8", newline="") as file:
        head = next(csv.reader(file))
    with open(path, "a", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, head, restval="", lineterminator="\n")
        writer.writerows(rows)


def draw(name, job, path):
    done = subprocess.run([PROGRAM, "draw", name, job, "-l", LIBRARY, "-o", path],
                          capture_output=True, text=True)
    if done.returncode != 0:
        raise AssertionError(done.stderr)


def arc_places(centre, radius, start, angle):
    """Places on an arc, its first but not its last, close enough for CHORD_MM."""
    count = max(2, math.ceil(abs(angle) / math.sqrt(8.0 * CHORD_MM / radius)))
    return [(centre[0] + radius * math.cos(start + angle * i / count),
             centre[1] + radius * math.sin(start + angle * i / count)) for i in range(count)]


def polygon_of(entity):
    """What the entity encloses. Not by ezdxf's paths: these take curves for arcs."""
    if entity.dxftype() == "CIRCLE":
        centre = (entity.dxf.center.x, entity.dxf.center.y)
        return Polygon(arc_places(centre, entity.dxf.radius, 0.0, 2.0 * math.pi))
    if entity.dxf.layer.startswith(("MARK", "NOTE")):
        points = list(ezdxf.path.make_path(entity).flattening(LETTER_CHORD_MM))
        places = [(point.x, point.y) for point in points]
        if math.dist(places[0], places[-1]) < 1e-9:
            places.pop()  # the same place but for rounding
        return Polygon(places)
    points = list(entity.get_points("xyb"))
    places = []
    for i, (x, y, bulge) in enumerate(points):
        end = points[(i + 1) % len(points)][:2]
        if bulge == 0.0:
            places.append((x, y))
            continue
        centre = ezdxf.math.bulge_center((x, y), end, bulge)
        places += arc_places(centre, ezdxf.math.bulge_radius((x, y), end, bulge),
                             math.atan2(y - centre.y, x - centre.x), 4.0 * math.atan(bulge))
    return Polygon(places)


class Entity:
    def __init__(self, entity):
        self.kind = entity.dxftype()
        self.layer = entity.dxf.layer
        self.entity = entity
        if self.kind == "LINE":
            self.shape = None
            self.box = tuple(sorted([(entity.dxf.start.x, entity.dxf.start.y),
                                     (entity.dxf.end.x, entity.dxf.end.y)]))
        else:
            self.shape = polygon_of(entity)
            self.box = self.shape.bounds


def coats(job, face):
    """Millimetres of coat on a side, of those that lie on the whole face, by free edges."""
    finishes = {row["finish"]: row for row in rows_of(LIBRARY, "finish")}
    return [(number(finishes[row["finish"]], "thickness_mm"), row["free_edges"].split())
            for row in rows_of(job, "panel_coat") if row["face"] == face and not row["item"]]


def expected_holes(job, face):
    """(u, v, width, height, area, countersunk head) in the cut file of every row of a cutout, at
    every row of mount that says its place itself. Shapes that need more than this are None."""
    plate = next(row for row in rows_of(job, "panel_face") if row["face"] == face)
    kerf = number(plate, "kerf_mm")
    screws = {row["screw"]: row for row in rows_of(LIBRARY, "screw")}
    kinds = {row["cutout"]: row["kind"] for row in rows_of(LIBRARY, "cutout")}
    found = []
    for mount in rows_of(job, "mount"):
        if mount["face"] != face or not mount["u_mm"] or not mount["v_mm"]:
            continue
        turn = math.radians(number(mount, "rotation_deg"))
        coat = sum(thick for thick, free in coats(job, face)
                   if not {mount["item"], mount["cutout"], kinds[mount["cutout"]]} & set(free))
        if plate["coat_by"] != "shop":
            coat = 0.0
        grow = 2.0 * coat - (kerf if plate["kerf_by"] == "shop" else 0.0)
        for hole in rows_of(LIBRARY, "cutout_hole"):
            if hole["cutout"] != mount["cutout"]:
                continue
            u = number(hole, "u_mm")
            v = number(hole, "v_mm")
            at = (number(mount, "u_mm") + u * math.cos(turn) - v * math.sin(turn),
                  number(mount, "v_mm") + u * math.sin(turn) + v * math.cos(turn))
            screw = screws.get(hole["screw"])
            width = number(hole, "width_mm") or (number(screw, "hole_mm") if screw else 0.0)
            head = number(screw, "head_mm") if screw and hole["countersunk"] == "yes" else 0.0
            if hole["kind"] == "round":
                size = width + grow
                found.append((*at, size, size, math.pi * size * size / 4.0, head))
            elif hole["kind"] == "rectangle" and turn == 0.0:
                w = width + grow
                h = number(hole, "height_mm") + grow
                radius = number(hole, "radius_mm")
                radius = max(0.0, radius + grow / 2.0) if radius > 0.0 else 0.0
                found.append((*at, w, h, w * h - (4.0 - math.pi) * radius * radius, head))
    return found


class Cut:
    """A cut file that was read."""

    def __init__(self, path):
        with open(path, encoding="ascii") as file:
            self.text = file.read()
        self.document = ezdxf.readfile(path)
        self.entities = [Entity(entity) for entity in self.document.modelspace()]

    def layer(self, name):
        return [entity for entity in self.entities if entity.layer == name]


class CutFile(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.holder = tempfile.TemporaryDirectory()
        cls.folder = cls.holder.name
        cls.first = cls.made("first", MENDED, "panel-cut", ".dxf")
        # A second face: arcs, an opening of its own, a bend, kerf allowed for by the shop.
        cls.job = os.path.join(cls.folder, "job")
        shutil.copytree(MENDED, cls.job)
        append(cls.job, "panel_face", [{
            "face": "SUB", "name": "switch panel", "sheet": "alu-2.0", "x_mm": "640",
            "y_mm": "-200", "z_mm": "300", "kerf_by": "shop", "kerf_mm": "0.2",
            "coat_by": "cutter"}])
        corners = [(0, 0), (160, 0), (160, 60), (120, 100), (40, 100), (0, 60)]
        rows = [{"face": "SUB", "contour": "1", "point": str(i + 1), "u_mm": str(u),
                 "v_mm": str(v)} for i, (u, v) in enumerate(corners)]
        rows[3]["mid_u_mm"], rows[3]["mid_v_mm"] = "80", "110"
        opening = [(60, 70), (100, 70), (100, 85), (60, 85)]
        rows += [{"face": "SUB", "contour": "2", "point": str(i + 1), "u_mm": str(u),
                  "v_mm": str(v), "round_mm": "2"} for i, (u, v) in enumerate(opening)]
        append(cls.job, "outline", rows)
        append(cls.job, "mount", [
            {"item": "SUB1", "face": "SUB", "cutout": "toggle-13", "u_mm": "30", "v_mm": "30",
             "serves": "spare"},
            {"item": "SUB2", "face": "SUB", "cutout": "remote-36", "u_mm": "110", "v_mm": "42.5",
             "rotation_deg": "90", "serves": "spare"},
            {"item": "SUB3", "face": "SUB", "cutout": "charge-29", "u_mm": "70", "v_mm": "38",
             "serves": "spare"}])
        cls.write_bends()
        cls.second = cls.made("second", cls.job, "panel-cut-SUB", ".dxf")
        cls.both = [(cls.first, MENDED, "MAIN"), (cls.second, cls.job, "SUB")]

    @classmethod
    def write_bends(cls):
        path = os.path.join(cls.job, "panel_bend.csv")
        with open(path, "w", encoding="utf-8") as file:
            file.write("bend,face,from_u_mm,from_v_mm,to_u_mm,to_v_mm,angle_deg,radius_mm\n"
                       "B1,SUB,0,12,160,12,90,3\n")

    @classmethod
    def tearDownClass(cls):
        cls.holder.cleanup()

    @classmethod
    def made(cls, name, job, sheet, ending):
        path = os.path.join(cls.folder, name + ending)
        draw(sheet, job, path)
        return Cut(path)

    def test_audit_finds_nothing(self):
        for cut, _, _ in self.both:
            audit = cut.document.audit()
            self.assertEqual([error.message for error in audit.errors], [])
            self.assertEqual([fix.message for fix in audit.fixes], [])

    def test_units_are_millimetres(self):
        for cut, _, _ in self.both:
            self.assertEqual(cut.document.units, ezdxf.units.MM)

    def test_nothing_refers_to_a_typeface(self):
        for cut, _, _ in self.both:
            self.assertGreater(len(cut.layer("NOTE")), 50)
            kinds = {entity.kind for entity in cut.entities}
            self.assertLessEqual(kinds, {"CIRCLE", "LWPOLYLINE", "LINE"})
            lines = cut.text.split("\n")
            for i in range(0, len(lines) - 1, 2):
                if lines[i].strip() == "0":
                    self.assertNotIn(lines[i + 1], ("TEXT", "MTEXT", "STYLE", "ATTDEF", "INSERT"))
            self.assertNotIn(".otf", cut.text)
            self.assertNotIn(".shx", cut.text)

    def test_every_contour_is_closed_and_sound(self):
        for cut, _, _ in self.both:
            for entity in cut.entities:
                if entity.layer == "BEND":
                    self.assertEqual(entity.kind, "LINE")
                    continue
                if entity.kind == "LWPOLYLINE":
                    self.assertTrue(entity.entity.closed)
                self.assertTrue(entity.shape.is_valid, entity.entity)
                self.assertGreater(entity.shape.area, 0.0)

    def test_no_two_entities_coincide(self):
        for cut, _, _ in self.both:
            shaped = sorted((e for e in cut.entities if e.shape), key=lambda e: e.box)
            self.assertGreater(len(shaped), 100)
            for i, left in enumerate(shaped):
                for right in shaped[i + 1:]:
                    if right.box[0] - left.box[0] > 0.002:
                        break
                    if max(abs(a - b) for a, b in zip(left.box, right.box)) > 0.002:
                        continue
                    apart = left.shape.symmetric_difference(right.shape).area
                    self.assertGreater(apart, 0.001 * left.shape.length,
                                       (left.layer, right.layer, left.box))

    def test_proof_square_is_true_and_outside(self):
        for cut, _, _ in self.both:
            squares = [e for e in cut.layer("NOTE") if e.kind == "LWPOLYLINE" and
                       len(e.entity) == 4 and abs(e.shape.area - 10000.0) < 1.0]
            self.assertEqual(len(squares), 1)
            points = [(x, y) for x, y in squares[0].entity.get_points("xy")]
            for i in range(4):
                side = math.dist(points[i], points[(i + 1) % 4])
                self.assertEqual("%.3f" % side, "100.000")
                self.assertEqual("%.3f" % math.dist(points[i], points[(i + 2) % 4]), "141.421")
            edge = max((e for e in cut.layer("CUT")), key=lambda e: e.shape.area)
            self.assertGreater(squares[0].shape.distance(edge.shape), 10.0)

    def test_holes_are_where_the_tables_say(self):
        for cut, job, face in self.both:
            expected = expected_holes(job, face)
            self.assertGreaterEqual(len(expected), 4)
            cuts = cut.layer("CUT")
            for u, v, width, height, area, _ in expected:
                near = [e for e in cuts
                        if abs((e.box[0] + e.box[2]) / 2 - u) <= NEAR_MM and
                        abs((e.box[1] + e.box[3]) / 2 - v) <= NEAR_MM and
                        abs(e.box[2] - e.box[0] - width) <= NEAR_MM and
                        abs(e.box[3] - e.box[1] - height) <= NEAR_MM]
                self.assertEqual(len(near), 1, (face, u, v, width, height))
                # An area differs by its rim times what a place may differ.
                self.assertLessEqual(abs(near[0].shape.area - area), NEAR_MM * near[0].shape.length)

    def test_true_areas_agree_closely(self):
        for cut, job, face in self.both:
            sizes = sorted(area for *_, area, _ in expected_holes(job, face))
            circles = sorted(math.pi * e.entity.dxf.radius ** 2 for e in cut.layer("CUT")
                             if e.kind == "CIRCLE")
            for area in circles:
                self.assertLess(min(abs(area - size) for size in sizes), 0.001)

    def test_openings_of_the_result_table_are_in_the_file(self):
        for cut, job, face in self.both:
            out = subprocess.run([PROGRAM, "show", "opening", job, "-l", LIBRARY, "--format",
                                  "csv"], capture_output=True, text=True, check=True).stdout
            rows = [row for row in csv.DictReader(out.splitlines()) if row["face"] == face]
            cuts = cut.layer("CUT")
            self.assertEqual(len(rows), len(cuts) - 1)
            for row in rows:
                near = [e for e in cuts
                        if abs(e.box[2] - e.box[0] - float(row["cut_width_mm"])) <= NEAR_MM and
                        abs(e.box[3] - e.box[1] - float(row["cut_height_mm"])) <= NEAR_MM and
                        e.shape.buffer(NEAR_MM).contains(
                            Polygon([(float(row["u_mm"]) + a, float(row["v_mm"]) + b)
                                     for a, b in ((-1e-4, 0), (1e-4, 0), (0, 1e-4))]))]
                self.assertGreaterEqual(len(near), 1, row)
                # The table's area is that of the finished opening.
                if row["cut_width_mm"] == row["width_mm"]:
                    self.assertTrue(any(
                        abs(e.shape.area - float(row["area"])) <= NEAR_MM * e.shape.length
                        for e in near), row)

    def test_a_file_of_finished_sizes_has_the_areas_of_the_table(self):
        job = os.path.join(self.folder, "finished")
        shutil.copytree(MENDED, job)
        path = os.path.join(job, "panel_face.csv")
        with open(path, encoding="utf-8") as file:
            text = file.read()
        self.assertEqual(text.count(",cutter,,shop"), 1)
        with open(path, "w", encoding="utf-8") as file:
            file.write(text.replace(",cutter,,shop", ",cutter,,cutter"))
        cut = self.made("finished-cut", job, "panel-cut", ".dxf")
        out = subprocess.run([PROGRAM, "show", "opening", job, "-l", LIBRARY, "--format", "csv"],
                             capture_output=True, text=True, check=True).stdout
        areas = sorted(float(row["area"]) for row in csv.DictReader(out.splitlines()))
        measured = sorted(e.shape.area for e in cut.layer("CUT"))[:-1]
        self.assertEqual(len(areas), len(measured))
        for area, shape in zip(areas, measured):
            self.assertLessEqual(abs(area - shape), 0.01)

    def test_countersinks_sit_on_their_holes(self):
        for cut, job, face in self.both:
            heads = [(u, v, head) for u, v, _, _, _, head in expected_holes(job, face) if head > 0]
            sinks = [e.entity for e in cut.layer("COUNTERSINK_FRONT")]
            self.assertEqual(len(sinks), len(heads))
            for u, v, head in heads:
                self.assertTrue(any(abs(s.dxf.center.x - u) < NEAR_MM and
                                    abs(s.dxf.center.y - v) < NEAR_MM and
                                    abs(2 * s.dxf.radius - head) < NEAR_MM for s in sinks))

    def test_small_holes_first_and_the_edge_last(self):
        for cut, _, _ in self.both:
            areas = [e.shape.area for e in cut.layer("CUT")]
            self.assertEqual(max(areas), areas[-1])
            for before, after in zip(areas, areas[1:]):
                self.assertLessEqual(before, after + 0.01)

    def test_edge_holds_all_holes(self):
        for cut, _, _ in self.both:
            cuts = cut.layer("CUT")
            edge = cuts[-1].shape
            for entity in cuts[:-1]:
                self.assertTrue(edge.contains(entity.shape))

    def test_second_edge_is_a_true_arc_widened_by_half_the_kerf(self):
        edge = self.second.layer("CUT")[-1]
        # From (120, 100) over (80, 110) to (40, 100): radius 85 about (80, 25).
        self.assertAlmostEqual(edge.box[3], 110.0 + 0.1, delta=NEAR_MM)
        self.assertAlmostEqual(edge.box[0], 0.0 - 0.1, delta=NEAR_MM)
        radii = []
        points = list(edge.entity.get_points("xyb"))
        for i, (x, y, bulge) in enumerate(points):
            if bulge:
                nx, ny, _ = points[(i + 1) % len(points)]
                radii.append(math.dist((x, y), (nx, ny)) * (1 + bulge ** 2) / (4 * abs(bulge)))
        self.assertTrue(any(abs(radius - 85.1) < NEAR_MM for radius in radii), radii)

    def test_bend_is_a_line_of_its_own_layer(self):
        bends = self.second.layer("BEND")
        self.assertEqual(len(bends), 1)
        self.assertEqual(bends[0].box, ((0.0, 12.0), (160.0, 12.0)))

    def test_masks_lie_around_what_stays_bare(self):
        masks = self.first.layer("MASK_FRONT")
        trays = [row for row in rows_of(MENDED, "mount") if row["cutout"].startswith("tray")]
        self.assertEqual(len(masks), len(trays))
        self.assertEqual(len(self.first.layer("MASK_REAR")), len(trays))

    def test_letters_are_as_high_as_their_legend(self):
        letters = self.first.layer("MARK_FRONT")
        legends = [row for row in rows_of(MENDED, "legend")
                   if row["text"] in ("MAIN", "HEAT", "FLAP", "TRIM", "HYD", "AV")]
        self.assertGreater(len(legends), 2)
        for row in legends:
            u = number(row, "u_mm")
            v = number(row, "v_mm")
            height = number(row, "letter_mm")
            own = [e for e in letters if abs((e.box[0] + e.box[2]) / 2 - u) < 12 and
                   abs((e.box[1] + e.box[3]) / 2 - v) < height]
            self.assertGreaterEqual(len(own), 3)
            self.assertAlmostEqual(max(e.box[3] for e in own) - min(e.box[1] for e in own),
                                   height, delta=NEAR_MM)

    def test_part_number_is_on_the_rear_clear_of_holes(self):
        for cut, _, _ in self.both:
            cuts = cut.layer("CUT")
            marks = cut.layer("MARK_REAR")
            self.assertGreater(len(marks), 10)
            for mark in marks:
                self.assertTrue(cuts[-1].shape.contains(mark.shape))
                for hole in cuts[:-1]:
                    self.assertGreater(mark.shape.distance(hole.shape), 2.5)
        # Mirrored: seen from the front it begins with its last letter, which stands at the left.
        first = [e for e in self.first.layer("MARK_REAR")]
        right = max(first, key=lambda e: e.box[2])
        self.assertLess(min(e.box[0] for e in first), right.box[0])

    def test_the_drilling_template_is_true_to_size(self):
        path = os.path.join(self.folder, "drill.dxf")
        draw("panel-drill", MENDED, path)
        space = ezdxf.readfile(path).modelspace()
        radii = sorted(e.dxf.radius for e in space.query("CIRCLE") if e.dxf.linetype != "HIDDEN")
        cuts = sorted(e.entity.dxf.radius for e in self.first.layer("CUT") if e.kind == "CIRCLE")
        self.assertEqual(len(radii), len(cuts))
        for drawn, cut in zip(radii, cuts):
            self.assertAlmostEqual(drawn, cut, delta=0.001)
        squares = []
        for line in space.query("POLYLINE"):
            xs = [vertex.dxf.location.x for vertex in line.vertices]
            ys = [vertex.dxf.location.y for vertex in line.vertices]
            if len(xs) == 4 and "%.3f" % (max(xs) - min(xs)) == "100.000":
                squares.append("%.3f" % (max(ys) - min(ys)))
        self.assertEqual(squares, ["100.000"])
        # Over pages of A4, four across.
        path = os.path.join(self.folder, "tiles.pdf")
        done = subprocess.run([PROGRAM, "draw", "panel-tiles", MENDED, "-l", LIBRARY, "--paper", "A4",
                               "-o", path], capture_output=True, text=True)
        self.assertEqual(done.returncode, 0, done.stderr)
        out = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
        pages = int(next(l for l in out.splitlines() if l.startswith("Pages")).split()[1])
        self.assertEqual(pages % 4, 0)
        self.assertGreater(pages, 8)
        # And on paper: poppler's page is as large as the template says.
        path = os.path.join(self.folder, "drill.pdf")
        draw("panel-drill", MENDED, path)
        out = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
        width = float(next(l for l in out.splitlines() if l.startswith("Page size")).split()[2])
        self.assertAlmostEqual(width * 25.4 / 72.0, 1040.0 - 2 * 0.081 + 30.0, delta=0.05)

    def test_nested_faces_fit_their_sheet(self):
        append(self.job, "panel_face", [{
            "face": "SUB%d" % i, "name": "copy", "sheet": "alu-2.0", "x_mm": "640", "y_mm": "0",
            "z_mm": "300", "kerf_by": "cutter", "coat_by": "cutter"} for i in range(2, 9)])
        corners = [(0, 0), (430, 0), (430, 160), (300, 260), (0, 260)]
        append(self.job, "outline", [
            {"face": "SUB%d" % face, "contour": "1", "point": str(i + 1), "u_mm": str(u),
             "v_mm": str(v)} for face in range(2, 9) for i, (u, v) in enumerate(corners)])
        cut = self.made("nest", self.job, "panel-nest-alu-2.0", ".dxf")
        edges = [e for e in cut.layer("CUT") if e.shape.area > 10000.0]
        self.assertEqual(len(edges), 8)
        stock = [e for e in cut.layer("NOTE") if e.kind == "LWPOLYLINE" and
                 e.shape.area > 1000000.0]
        self.assertEqual(len(stock), 1)
        for i, edge in enumerate(edges):
            self.assertTrue(stock[0].shape.buffer(-10.0 + NEAR_MM).contains(edge.shape))
            for other in edges[i + 1:]:
                self.assertGreaterEqual(edge.shape.distance(other.shape), 8.0 - NEAR_MM)
        self.assertEqual(cut.document.audit().errors, [])


if __name__ == "__main__":
    unittest.main()
