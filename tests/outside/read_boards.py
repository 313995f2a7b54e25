#!/usr/bin/python3
"""Boards of harnesses measured on their DXF with programs that are not ours: ezdxf reads and audits
it, shapely measures how near things come. The tree is found again from the drawing (where middle
lines end, there they are joined), walked from leaf to leaf, and held against the tables: every
length within half a millimetre. Nothing crosses, nothing is nearer than the spacing, everything is
on a board. For every module of the examples, and for random trees.

    read_boards.py MARLING RANDOM_BOARDS

MARLING_BOARDS=all measures 500 random trees of up to 300 branches instead of a few.
"""
import copy
import csv
import math
import numbers
import os
import shutil
import subprocess
import sys
import tempfile
import unittest
import warnings

import ezdxf
from shapely.geometry import LineString, Point, Polygon, box
from shapely.strtree import STRtree

PROGRAM = os.path.abspath(sys.argv.pop(1)) if len(sys.argv) > 1 else ""
RANDOM = os.path.abspath(sys.argv.pop(1)) if len(sys.argv) > 1 else ""
ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
LIBRARY = os.path.join(ROOT, "library")
JOBS = ("first", "osier_mended")

LENGTH_MM = 0.5       # what a length may be off
JOIN_MM = 0.001       # ends nearer than this are one: the file has ten thousandths
SAGITTA_MM = 0.001    # of chords instead of arcs, for distances only
ROUND_MM = 0.02       # of distances, for chords and rounding
BOTH_SIDES_RAD = 4.0  # docs/theory/board.md: what leaves a node has room on a circle at this angle

# Random trees: branches, first seed, how many. Together 500.
ALL_TREES = [(10, 1, 60), (20, 1, 80), (40, 1, 80), (60, 1, 80), (90, 1, 60), (120, 1, 50),
             (160, 1, 30), (200, 1, 30), (250, 1, 15), (300, 1, 15)]
FEW_TREES = [(10, 1, 4), (20, 1, 4), (40, 1, 3), (60, 1, 2), (120, 1, 1)]


def rows_of(folder, table):
    with open(os.path.join(folder, table + ".csv"), encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def limits_of(job):
    limits = {}
    for path in (os.path.join(LIBRARY, "limit.csv"), os.path.join(job, "rule_limit.csv")):
        if os.path.exists(path):
            with open(path, encoding="utf-8-sig", newline="") as file:
                limits.update((row["limit"], float(row["value"])) for row in csv.DictReader(file)
                              if row["limit"].startswith("board_"))
    return limits


# --- what the file says --------------------------------------------------------------------------


class Piece:
    """A straight part or an arc, from `a` to `b`."""

    def __init__(self, entity):
        self.arc = entity.dxftype() == "ARC"
        if self.arc:
            self.centre = (entity.dxf.center.x, entity.dxf.center.y)
            self.radius = entity.dxf.radius
            self.start = math.radians(entity.dxf.start_angle)
            self.sweep = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360.0)
            self.length = self.radius * self.sweep
        else:
            self.begin = (entity.dxf.start.x, entity.dxf.start.y)
            self.finish = (entity.dxf.end.x, entity.dxf.end.y)
            self.length = math.dist(self.begin, self.finish)
        self.backward = False

    def at(self, s):
        share = s / self.length
        share = 1.0 - share if self.backward else share
        if self.arc:
            angle = self.start + share * self.sweep
            return (self.centre[0] + self.radius * math.cos(angle),
                    self.centre[1] + self.radius * math.sin(angle))
        return tuple(self.begin[i] + share * (self.finish[i] - self.begin[i]) for i in (0, 1))

    def ends(self):
        return self.at(0.0), self.at(self.length)

    def step(self):
        return math.sqrt(8.0 * SAGITTA_MM * self.radius) if self.arc else math.inf


class Arm:
    """Pieces of one name, in the order in which their ends meet."""

    def __init__(self, name, pieces):
        self.name = name
        rest = list(pieces)
        self.pieces = [rest.pop(0)]
        while rest:
            found = None
            for piece in rest:
                for turned in (False, True):
                    piece.backward = turned
                    first, last = piece.ends()
                    if math.dist(first, self.ends()[1]) < JOIN_MM:
                        found = (piece, len(self.pieces))
                    elif math.dist(last, self.ends()[0]) < JOIN_MM:
                        found = (piece, 0)
                    if found:
                        break
                if found:
                    break
            if not found:
                raise AssertionError("%s is not in one piece" % name)
            rest.remove(found[0])
            self.pieces.insert(found[1], found[0])
        self.length = sum(piece.length for piece in self.pieces)
        self.nodes = None

    def ends(self):
        return self.pieces[0].ends()[0], self.pieces[-1].ends()[1]

    def part(self, low, high):
        """Its middle line from `low` to `high` along it."""
        points = []
        at = 0.0
        for piece in self.pieces:
            first, last = max(low, at), min(high, at + piece.length)
            if last > first:
                count = max(1, math.ceil((last - first) / piece.step()))
                points += [piece.at(first - at + (last - first) * i / count)
                           for i in range(0 if not points else 1, count + 1)]
            at += piece.length
        return LineString(points)


def name_of(entity, module):
    if not entity.has_xdata("MARLING"):
        return None
    key = entity.get_xdata("MARLING")[0].value
    return key[len(module) + 1:] if key.startswith(module + " ") else None


class Drawing:
    """The tree, as it is found in a file."""

    def __init__(self, path, module):
        self.document = ezdxf.readfile(path)
        space = self.document.modelspace()
        self.texts = [text.dxf.text for text in space.query("TEXT")]
        datum = [e for e in space.query('CIRCLE[layer=="board"]')]
        if len(datum) != 1:
            raise AssertionError("%d datums" % len(datum))
        self.datum = (datum[0].dxf.center.x, datum[0].dxf.center.y)
        pieces = {}
        for entity in space.query('*[layer=="middle"]'):
            pieces.setdefault(name_of(entity, module), []).append(Piece(entity))
        self.arms = {name: Arm(name, own) for name, own in pieces.items()}
        self.rings = {name_of(e, module): (e.dxf.center.x, e.dxf.center.y)
                      for e in space.query('CIRCLE[layer=="symbol"]')}
        self.shells = {}
        for entity in space.query('POLYLINE[layer=="box"]'):
            self.shells[name_of(entity, module)] = Polygon(
                [(v.dxf.location.x, v.dxf.location.y) for v in entity.vertices])
        self.join()

    def join(self):
        """Ends of arms that meet are one node."""
        self.places = []
        cells = {}
        for arm in self.arms.values():
            ids = []
            for end in arm.ends():
                cell = (math.floor(end[0]), math.floor(end[1]))
                near = [i for dx in (-1, 0, 1) for dy in (-1, 0, 1)
                        for i in cells.get((cell[0] + dx, cell[1] + dy), ())
                        if math.dist(self.places[i], end) < JOIN_MM]
                if not near:
                    near = [len(self.places)]
                    self.places.append(end)
                    cells.setdefault(cell, []).append(near[0])
                ids.append(near[0])
            arm.nodes = tuple(ids)
        self.around = [[] for _ in self.places]
        for name, arm in self.arms.items():
            for node in arm.nodes:
                self.around[node].append(name)

    def ways(self, start):
        """Length to every node that can be reached."""
        far = {start: 0.0}
        open_nodes = [start]
        while open_nodes:
            node = open_nodes.pop()
            for name in self.around[node]:
                arm = self.arms[name]
                other = arm.nodes[1] if arm.nodes[0] == node else arm.nodes[0]
                if other not in far:
                    far[other] = far[node] + arm.length
                    open_nodes.append(other)
        return far

    def edges(self):
        return {frozenset((round(p.x, 2), round(p.y, 2)) for p in (e.dxf.start, e.dxf.end))
                for e in self.document.modelspace().query('LINE[layer=="board"]')}


# --- what the tables say -------------------------------------------------------------------------


class Table:
    def __init__(self, board, branches, nodes, limits):
        self.board = board
        self.module = board["module"]
        self.branches = {row["name"]: row for row in branches if row["module"] == self.module}
        self.nodes = {row["name"]: row for row in nodes if row["module"] == self.module}
        self.limits = limits
        self.around = {}
        for name, row in self.branches.items():
            self.around.setdefault(row["from_node"], []).append(name)
            self.around.setdefault(row["to_node"], []).append(name)

    def ways(self, start):
        far = {start: 0.0}
        open_nodes = [start]
        while open_nodes:
            node = open_nodes.pop()
            for name in self.around[node]:
                row = self.branches[name]
                other = row["to_node"] if row["from_node"] == node else row["from_node"]
                if other not in far:
                    far[other] = far[node] + float(row["length_mm"])
                    open_nodes.append(other)
        return far


# --- measuring -----------------------------------------------------------------------------------


def same_tree(table, drawing):
    """Nodes of the drawing by their names in the table, and what differs."""
    wrong = []
    if set(table.branches) != set(drawing.arms):
        return {}, ["branches %s" % (set(table.branches) ^ set(drawing.arms))]
    where = {}
    for name, row in table.branches.items():
        for end in ("from_node", "to_node"):
            place = table.nodes[row[end]]
            at = (drawing.datum[0] + float(place["x_mm"]), drawing.datum[1] + float(place["y_mm"]))
            node = min(drawing.arms[name].nodes,
                       key=lambda i: math.dist(drawing.places[i], at))
            if math.dist(drawing.places[node], at) > 0.01:
                wrong.append("%s does not end at %s" % (name, row[end]))
            if where.setdefault(row[end], node) != node:
                wrong.append("%s is at two places" % row[end])
    if len(set(where.values())) != len(where) or len(where) != len(drawing.places):
        wrong.append("nodes that are not one to one")
    return where, wrong


def check_lengths(table, drawing, where):
    """Every way from leaf to leaf. The worst difference, and how many ways."""
    leaves = [name for name, around in table.around.items() if len(around) == 1]
    worst, count = 0.0, 0
    for leaf in leaves:
        told = table.ways(leaf)
        drawn = drawing.ways(where[leaf])
        for other in leaves:
            if (other in told) != (where[other] in drawn):
                return math.inf, count
            if other in told and other != leaf:
                worst = max(worst, abs(told[other] - drawn[where[other]]))
                count += 1
    return worst, count


def zones_of(table, drawing, where):
    """By arm: (node, from, to) parts of it within the zone of a breakout, and what differs. Zones
    are worked out from diameters, not taken from the table."""
    parts = {name: [] for name in drawing.arms}
    wrong = []
    for name, node in where.items():
        sum_mm = sum(float(table.branches[arm]["od_mm"]) + table.limits["board_spacing"]
                     for arm in table.around[name])
        zone = max(table.limits["board_zone"], sum_mm / BOTH_SIDES_RAD)
        if abs(zone - float(table.nodes[name]["zone_mm"])) > 0.001:
            wrong.append("zone of %s" % name)
        steps = [(node, None, 0.0)]
        while steps:
            at, by, way = steps.pop()
            for arm_name in drawing.around[at]:
                if arm_name == by:
                    continue
                arm = drawing.arms[arm_name]
                far = min(arm.length, zone - way)
                if arm.nodes[0] == at:
                    parts[arm_name].append((node, 0.0, far))
                    other = arm.nodes[1]
                else:
                    parts[arm_name].append((node, arm.length - far, arm.length))
                    other = arm.nodes[0]
                if way + arm.length < zone:
                    steps.append((other, arm_name, way + arm.length))
    return parts, wrong


def strips_of(table, drawing, parts):
    """Arms cut where a zone begins or ends: (arm, middle line, half its diameter, its zones)."""
    strips = []
    for name, arm in drawing.arms.items():
        half = float(table.branches[name]["od_mm"]) / 2.0
        cuts = sorted({0.0, arm.length} | {at for _, low, high in parts[name]
                                           for at in (low, high)})
        for low, high in zip(cuts, cuts[1:]):
            if high - low > 1e-6:
                inside = {node for node, first, last in parts[name]
                          if first <= low + 1e-6 and last >= high - 1e-6}
                strips.append((name, arm.part(low, high), half, inside))
    return strips


def near_pairs(shapes, reach):
    """Pairs whose boxes come nearer than `reach`, each once."""
    number = {id(shape): i for i, shape in enumerate(shapes)}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # what will change in a later version
        tree = STRtree(shapes)
    for i, shape in enumerate(shapes):
        low_x, low_y, high_x, high_y = shape.bounds
        for found in tree.query(box(low_x - reach, low_y - reach, high_x + reach, high_y + reach)):
            k = found if isinstance(found, numbers.Integral) else number[id(found)]
            if k > i:
                yield i, k


def check_spacing(table, drawing, parts):
    wrong = []
    spacing = table.limits["board_spacing"]
    strips = strips_of(table, drawing, parts)
    thick = max(half for _, _, half, _ in strips)
    for i, k in near_pairs([line for _, line, _, _ in strips], 2.0 * thick + spacing):
        one, line, half, zones = strips[i]
        two, other, other_half, other_zones = strips[k]
        if one == two or zones & other_zones:
            continue
        apart = line.distance(other) - half - other_half
        if apart < spacing - ROUND_MM:
            wrong.append("%s and %s: %.3f mm apart" % (one, two, apart))
    return wrong


def check_crossings(drawing):
    wrong = []
    names = list(drawing.arms)
    lines = [drawing.arms[name].part(0.0, drawing.arms[name].length) for name in names]
    for i, k in near_pairs(lines, JOIN_MM):
        meet = lines[i].intersection(lines[k])
        common = set(drawing.arms[names[i]].nodes) & set(drawing.arms[names[k]].nodes)
        if meet.is_empty:
            continue
        near = max((meet.hausdorff_distance(Point(drawing.places[node])) for node in common),
                   default=math.inf)
        if near > 10.0 * JOIN_MM:
            wrong.append("%s crosses %s" % (names[i], names[k]))
    for name, line in zip(names, lines):
        if not line.is_simple:
            wrong.append("%s crosses itself" % name)
    return wrong


def check_folds(table, drawing):
    """One arm beside itself. One that turns by less than K in all is nowhere nearer to itself than
    cos(K / 2) times the way between (Schur): with 2.6 rad more than asked."""
    wrong = []
    for name, arm in drawing.arms.items():
        need = table.limits["board_spacing"] + float(table.branches[name]["od_mm"])
        turned = sum(piece.sweep for piece in arm.pieces if piece.arc)
        if turned < 2.6 or arm.length < 4.0 * need:
            continue
        count = math.ceil(arm.length / 10.0)
        cuts = [arm.length * i / count for i in range(count + 1)]
        parts = [arm.part(low, high) for low, high in zip(cuts, cuts[1:])]
        for i, k in near_pairs(parts, need):
            if cuts[k] - cuts[i + 1] > 4.0 * need and \
                    parts[i].distance(parts[k]) < need - ROUND_MM:
                wrong.append("%s beside itself" % name)
                break
    return wrong


def check_bends(table, drawing):
    return ["%s is bent to %.1f mm" % (name, piece.radius)
            for name, arm in drawing.arms.items() for piece in arm.pieces
            if piece.arc and piece.radius < float(table.branches[name]["bend_mm"]) - 0.001]


def check_shells(table, drawing, where):
    """Connectors sit at the ends of their branches, with room around them."""
    wrong = []
    hand = table.limits["board_hand"]
    owner = {}
    for name, shell in drawing.shells.items():
        if name not in where or len(table.around[name]) != 1:
            return ["a connector %s that is at no end" % name]
        owner[name] = table.around[name][0]
        if shell.exterior.distance(Point(drawing.places[where[name]])) > 0.01:
            wrong.append("%s is not at its branch" % name)
    lines = {name: arm.part(0.0, arm.length) for name, arm in drawing.arms.items()}
    for name, shell in drawing.shells.items():
        for arm, line in lines.items():
            half = float(table.branches[arm]["od_mm"]) / 2.0
            if arm != owner[name] and shell.distance(line) - half < hand - ROUND_MM:
                wrong.append("%s is %.2f mm from %s" % (name, shell.distance(line) - half, arm))
        for other, shape in drawing.shells.items():
            if other < name and shell.distance(shape) < hand - ROUND_MM:
                wrong.append("%s is %.2f mm from %s" % (name, shell.distance(shape), other))
    return wrong


def check_boards(table, drawing):
    wrong = []
    limit = table.limits
    size = (limit["board_length"], limit["board_width"])
    count = (int(table.board["along"]), int(table.board["across"]))
    seams = []
    for axis in (0, 1):
        pitch = size[axis] + limit["board_gap"]
        seams.append([(i * pitch - limit["board_gap"] - limit["board_seam"] + ROUND_MM,
                       i * pitch + limit["board_seam"] - ROUND_MM) for i in range(1, count[axis])])
    whole = [count[axis] * (size[axis] + limit["board_gap"]) - limit["board_gap"]
             for axis in (0, 1)]

    def on_one_board(bounds):
        return not any(low < bounds[2 + axis] - drawing.datum[axis] and
                       bounds[axis] - drawing.datum[axis] < high
                       for axis in (0, 1) for low, high in seams[axis])

    def inside(bounds):
        edge = limit["board_margin"] - ROUND_MM
        return all(bounds[axis] - drawing.datum[axis] >= edge and
                   bounds[2 + axis] - drawing.datum[axis] <= whole[axis] - edge
                   for axis in (0, 1))

    def grown(bounds, by):
        return bounds[0] - by, bounds[1] - by, bounds[2] + by, bounds[3] + by

    for name, arm in drawing.arms.items():
        half = float(table.branches[name]["od_mm"]) / 2.0
        if not inside(grown(arm.part(0.0, arm.length).bounds, half)):
            wrong.append("%s is over an edge" % name)
        at = 0.0
        for piece in arm.pieces:
            bounds = grown(arm.part(at, at + piece.length).bounds, half)
            if piece.arc and not on_one_board(bounds):
                wrong.append("a bend of %s is on a seam" % name)
            at += piece.length
    edges = drawing.edges()
    for i in range(count[0]):
        for k in range(count[1]):
            left = drawing.datum[0] + i * (size[0] + limit["board_gap"])
            low = drawing.datum[1] + k * (size[1] + limit["board_gap"])
            corners = [(left, low), (left + size[0], low), (left + size[0], low + size[1]),
                       (left, low + size[1])]
            for n in range(4):
                line = (corners[n - 1], corners[n])
                if frozenset((round(x, 2), round(y, 2)) for x, y in line) not in edges:
                    wrong.append("an edge of board %d, %d is not drawn" % (i + 1, k + 1))
    for place in drawing.places:
        if not on_one_board(place + place):
            wrong.append("a node on a seam")
    for name, shell in drawing.shells.items():
        if not inside(shell.bounds) or not on_one_board(shell.bounds):
            wrong.append("%s is over an edge" % name)
    return wrong


def faults_of(table, drawing):
    """All that is wrong, and the worst length with the number of ways."""
    where, wrong = same_tree(table, drawing)
    if wrong:
        return wrong, math.inf, 0
    worst, ways = check_lengths(table, drawing, where)
    if worst > LENGTH_MM:
        wrong.append("a way is %.3f mm off" % worst)
    parts, differ = zones_of(table, drawing, where)
    wrong += differ
    wrong += check_spacing(table, drawing, parts)
    wrong += check_crossings(drawing)
    wrong += check_folds(table, drawing)
    wrong += check_bends(table, drawing)
    wrong += check_shells(table, drawing, where)
    wrong += check_boards(table, drawing)
    return wrong, worst, ways


# --- tests ---------------------------------------------------------------------------------------


def boards_of(folder, job):
    """Board and tables of every module of a job, in a folder below."""
    folder = os.path.join(folder, job)
    os.mkdir(folder)
    done = subprocess.run([RANDOM, folder, LIBRARY, os.path.join(ROOT, "examples", job)],
                          capture_output=True, text=True)
    if done.returncode != 0:
        raise AssertionError(done.stderr)
    return folder


class Boards(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.mkdtemp()
        cls.made = {}

    @classmethod
    def tearDownClass(cls):
        shutil.rmtree(cls.folder)

    def of_job(self, name):
        """Table and drawing of each module of a job."""
        if name not in self.made:
            job = os.path.join(ROOT, "examples", name)
            folder = boards_of(self.folder, name)
            branches, nodes = rows_of(folder, "board_branch"), rows_of(folder, "board_node")
            self.made[name] = [
                (Table(board, branches, nodes, limits_of(job)),
                 Drawing(os.path.join(folder, board["module"] + ".dxf"), board["module"]))
                for board in rows_of(folder, "board")]
        return self.made[name]

    def all_modules(self):
        return [pair for job in JOBS for pair in self.of_job(job)]

    def random(self, arms, first, count):
        """Table and drawing of random trees, one after the other."""
        for seed in range(first, first + count):
            done = subprocess.run([RANDOM, self.folder, str(arms), str(seed), "1"],
                                  capture_output=True, text=True)
            self.assertEqual(done.returncode, 0, done.stderr)
            stem = os.path.join(self.folder, "%d-%d" % (arms, seed))
            rows = {}
            for table in ("board", "board_branch", "board_node", "limit"):
                with open("%s-%s.csv" % (stem, table), encoding="utf-8", newline="") as file:
                    rows[table] = list(csv.DictReader(file))
            board = rows["board"][0]
            limits = {row["limit"]: float(row["value"]) for row in rows["limit"]}
            yield (Table(board, rows["board_branch"], rows["board_node"], limits),
                   Drawing(stem + ".dxf", board["module"]))

    def test_the_examples_are_there(self):
        modules = [table.module for table, _ in self.of_job("osier_mended")]
        self.assertEqual(modules, ["AFT", "ENG", "FLT", "FUS", "LWG", "PNL", "RWG"])
        self.assertGreaterEqual(len(self.of_job("first")), 2)

    def test_the_command_line_writes_the_same(self):
        """But for notes, which also name sleeves there."""
        path = os.path.join(self.folder, "command.dxf")
        done = subprocess.run([PROGRAM, "draw", "board-AFT-plot",
                               os.path.join(ROOT, "examples", "osier_mended"), "-l", LIBRARY,
                               "-o", path], capture_output=True, text=True)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.of_job("osier_mended")
        found = []
        for name in (path, os.path.join(self.folder, "osier_mended", "AFT.dxf")):
            lines = ezdxf.readfile(name).modelspace().query(
                'LINE ARC CIRCLE[layer=="middle" | layer=="bundle" | layer=="board" |'
                ' layer=="nail" | layer=="symbol"]')
            found.append([(line.dxftype(), name_of(line, "AFT"),
                           sorted((k, str(v)) for k, v in line.dxfattribs().items()
                                  if k not in ("handle", "owner"))) for line in lines])
        self.assertGreater(len(found[0]), 100)
        self.assertEqual(found[0], found[1])

    def test_files_pass_the_audit(self):
        for table, drawing in self.all_modules():
            self.assertEqual(drawing.document.audit().errors, [], table.module)

    def test_every_module_measures_as_its_table_says(self):
        for table, drawing in self.all_modules():
            wrong, worst, ways = faults_of(table, drawing)
            self.assertEqual(wrong, [], table.module)
            self.assertLess(worst, 0.01)
            self.assertGreater(ways, 0)

    def test_every_piece_lies_as_long_as_its_table_says(self):
        """The table of pieces says path, stub and loop; the drawing gives the way between the two
        leaves. What passes an opened loop is not laid in one line."""
        for job in JOBS:
            boards = {table.module: (table, drawing, same_tree(table, drawing)[0])
                      for table, drawing in self.of_job(job)}
            checked = missed = 0
            for piece in rows_of(os.path.join(self.folder, job), "piece"):
                if piece["module"] not in boards or "laid open" in piece["why"]:
                    continue
                table, drawing, where = boards[piece["module"]]
                ends = [leaf_nodes(table, piece[end]) for end in ("from_end", "to_end")]
                if not ends[0] or not ends[1]:
                    missed += 1
                    continue
                told = sum(float(piece[column]) for column in (
                    "path_mm", "stub_from_mm", "stub_to_mm", "loop_from_mm", "loop_to_mm"))
                apart = min(abs(told - way_between(drawing, where[one], where[two]))
                            for one in ends[0] for two in ends[1])
                self.assertLess(apart, LENGTH_MM, piece["piece"])
                checked += 1
            self.assertEqual(missed, 0, job)
            self.assertGreater(checked, 20, job)

    def test_nodes_and_leaves_are_named(self):
        for table, drawing in self.all_modules():
            leaves = {name for name, around in table.around.items() if len(around) == 1}
            stubs = leaves & set(table.branches)
            breakouts = set(table.nodes) - stubs
            self.assertEqual(set(drawing.rings), breakouts, table.module)
            self.assertLessEqual(set(drawing.shells), stubs, table.module)
            written = "\n".join(drawing.texts)
            for name in breakouts | stubs:
                self.assertIn(name.split(" (open")[0], written)

    def test_random_trees(self):
        if os.environ.get("MARLING_BOARDS") == "all":
            self.skipTest("all of them are measured")
        self.measure(FEW_TREES)

    @unittest.skipUnless(os.environ.get("MARLING_BOARDS") == "all", "MARLING_BOARDS=all")
    def test_all_random_trees(self):
        self.assertEqual(sum(count for _, _, count in ALL_TREES), 500)
        self.measure(ALL_TREES)

    def measure(self, trees):
        clean, bad = {}, []
        for arms, first, count in trees:
            for table, drawing in self.random(arms, first, count):
                wrong, worst, _ = faults_of(table, drawing)
                self.assertLess(worst, LENGTH_MM)
                if wrong:
                    bad.append("%d branches, %s: %d, first %s" % (arms, table.module, len(wrong),
                                                                  wrong[0]))
                else:
                    clean[arms] = clean.get(arms, 0) + 1
            print("%d branches: %d of %d clean" % (arms, clean.get(arms, 0), count),
                  file=sys.stderr, flush=True)
        self.assertEqual(bad, [])


def way_between(drawing, one, two):
    """From leaf to leaf; leads that are laid as one branch go back to its node and out again."""
    if one == two:
        return 2.0 * drawing.arms[drawing.around[one][0]].length
    return drawing.ways(one).get(two, math.inf)


def leaf_nodes(table, end):
    """Ends of branches that the end of a piece may be at: a leaf's label is the beginning of it.
    At coax bulkheads and studs it tells the side of the disconnect; of a shield, the unit."""
    ends = [row for row in table.branches.values() if row["leaves"]]
    if end.endswith((" far side", " near side")):
        label = end.rsplit(" ", 2)[0] + " bulkhead "
        return [row["to_node"] for row in ends if label in row["leaves"] + " "]
    if " " in end:
        unit = end.split(".")[0]
        return [row["to_node"] for row in ends
                if unit in [label.split(".")[0] for label in row["leaves"].split(" ")]]
    tries = {end} | {end[:i] for i, letter in enumerate(end) if letter in "-."}
    return [row["to_node"] for row in ends
            if tries & ({row["leaves"]} | set(row["leaves"].split(" ")))]


class Planted(unittest.TestCase):
    """A measurement that finds nothing must be able to find something."""

    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.mkdtemp()
        folder = boards_of(cls.folder, "osier_mended")
        cls.path = os.path.join(folder, "AFT.dxf")
        board = next(row for row in rows_of(folder, "board") if row["module"] == "AFT")
        cls.table = Table(board, rows_of(folder, "board_branch"), rows_of(folder, "board_node"),
                          limits_of(os.path.join(ROOT, "examples", "osier_mended")))

    @classmethod
    def tearDownClass(cls):
        shutil.rmtree(cls.folder)

    def faults(self, table=None, drawing=None):
        return faults_of(table or self.table, drawing or Drawing(self.path, "AFT"))

    def with_limit(self, **limits):
        table = copy.copy(self.table)
        table.limits = dict(table.limits, **limits)
        return table

    def test_it_is_clean_before(self):
        self.assertEqual(self.faults()[0], [])

    def test_a_length_that_is_not_so(self):
        table = copy.deepcopy(self.table)
        row = table.branches["A03-A04"]
        row["length_mm"] = str(float(row["length_mm"]) + 0.6)
        wrong, worst, _ = self.faults(table)
        self.assertAlmostEqual(worst, 0.6, delta=0.001)
        self.assertEqual(len(wrong), 1)

    def test_a_larger_spacing(self):
        wrong = self.faults(self.with_limit(board_spacing=300.0))[0]
        self.assertTrue(any("mm apart" in text for text in wrong))

    def test_a_smaller_zone(self):
        wrong = self.faults(self.with_limit(board_zone=20.0))[0]
        self.assertTrue(any("zone of" in text for text in wrong))
        self.assertTrue(any("mm apart" in text for text in wrong))

    def test_more_room_for_hands(self):
        wrong = self.faults(self.with_limit(board_hand=200.0))[0]
        self.assertTrue(any("is" in text and "mm from" in text for text in wrong))

    def test_a_smaller_board(self):
        wrong = self.faults(self.with_limit(board_length=2300.0))[0]
        self.assertTrue(any("over an edge" in text for text in wrong))
        self.assertTrue(any("not drawn" in text for text in wrong))

    def test_a_fold_too_near(self):
        """Half a metre there, half a circle, half a metre back."""
        for radius, wrong in ((8.0, True), (20.0, False)):
            space = ezdxf.new("R12").modelspace()
            parts = [space.add_line((0.0, 0.0), (500.0, 0.0)),
                     space.add_arc((500.0, radius), radius, -90.0, 90.0),
                     space.add_line((500.0, 2.0 * radius), (0.0, 2.0 * radius))]
            drawing = Drawing(self.path, "AFT")
            self.assertEqual(check_folds(self.table, drawing), [])
            drawing.arms["A04-A05"] = Arm("A04-A05", [Piece(part) for part in parts])
            self.assertEqual(check_folds(self.table, drawing),
                             ["A04-A05 beside itself"] if wrong else [])

    def test_a_bend_too_tight(self):
        table = copy.deepcopy(self.table)
        table.branches["A04-A05"]["bend_mm"] = "5000"
        self.assertTrue(any("is bent" in text for text in self.faults(table)[0]))

    def test_a_crossing(self):
        drawing = Drawing(self.path, "AFT")
        one, two = drawing.arms["ANT_ELB"], drawing.arms["ELB.J1"]
        self.assertEqual(check_crossings(drawing), [])
        line = two.part(0.0, two.length).interpolate(0.7, normalized=True)
        piece = copy.copy(one.pieces[-1])
        piece.arc, piece.backward = False, False
        piece.begin = one.pieces[-1].ends()[0]
        piece.finish = (2.0 * line.x - piece.begin[0], 2.0 * line.y - piece.begin[1])
        piece.length = math.dist(piece.begin, piece.finish)
        one.pieces[-1] = piece
        self.assertTrue(any("crosses" in text for text in check_crossings(drawing)))

    def test_a_broken_branch(self):
        document = ezdxf.readfile(self.path)
        line = next(e for e in document.modelspace().query('LINE[layer=="middle"]')
                    if name_of(e, "AFT") == "A04-A05")
        line.dxf.end = (line.dxf.end.x + 1.0, line.dxf.end.y)
        path = os.path.join(self.folder, "broken.dxf")
        document.saveas(path)
        with self.assertRaises(AssertionError):
            Drawing(path, "AFT")


if __name__ == "__main__":
    unittest.main()
