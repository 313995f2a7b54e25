#!/usr/bin/python3
"""One drawing with everything on it, written in every format and read back with programs that are
not ours: an XML parser for SVG, ezdxf for DXF, poppler and qpdf for PDF, zlib for PNG. What must be
found is in items.json, which comes from the display list itself and from no writer.

    read_drawing.py DRAW_EVERYTHING
"""
import json
import math
import os
import re
import struct
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as xml
import zlib

import ezdxf
import ezdxf.bbox
import ezdxf.recover

PROGRAM = os.path.abspath(sys.argv.pop(1)) if len(sys.argv) > 1 else ""
SVG = "{http://www.w3.org/2000/svg}"
POINTS_PER_MM = 72 / 25.4
# A format rounds places to a thousandth (SVG) or ten thousandth (DXF) of a millimetre.
PLACE_MM = 0.1
# pdftotext gives the advance box of a word: the same ends of the baseline as ours, but for the room
# that the first and last letter keep at their sides, which our box counts and poppler's doesn't
# always.
WORD_MM = 0.3
NAMES = ["first", "sheet:one%20%27quoted%27%20%28in%20%5C%20brackets%29",
         "%D0%9B%D0%B8%D1%81%D1%82%202"]


def output_of(*command, **options):
    return subprocess.run(command, capture_output=True, check=True, **options).stdout.decode()


def numbers_of(text):
    return [float(word) for word in re.findall(r"-?\d+(?:\.\d+)?", text)]


def decoded(text):
    """A text of a DXF without its control codes, as the published reference explains them: %%% is a
    percent sign, a caret and a blank are a caret (ezdxf itself has turned \\U+XXXX into letters)."""
    return text.replace("%%%", "%").replace("^ ", "^")


class Drawing(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.holder = tempfile.TemporaryDirectory()
        cls.folder = cls.holder.name
        output_of(PROGRAM, cls.folder)
        with open(cls.path("items.json"), encoding="utf-8") as file:
            cls.items = json.load(file)
        for item in cls.items:
            if "text" in item:
                item["text"] = bytes(item["text"]).decode("utf-8")
        cls.texts = [item for item in cls.items if item["kind"] == "text"]
        cls.svg = xml.parse(cls.path("everything.svg")).getroot()
        # `recover` is the reader that knows \U+XXXX; `readfile` is the strict one.
        cls.dxf, cls.recovered = ezdxf.recover.readfile(cls.path("everything.dxf"))

    @classmethod
    def tearDownClass(cls):
        cls.holder.cleanup()

    @classmethod
    def path(cls, name):
        return os.path.join(cls.folder, name)

    def near(self, found, wanted, tolerance, what):
        self.assertEqual(len(found), len(wanted), what)
        for one, other in zip(found, wanted):
            self.assertLessEqual(abs(one - other), tolerance, f"{what}: {found} for {wanted}")

    def of_kind(self, kind):
        return [item for item in self.items if item["kind"] == kind]

    def test_the_drawing_has_everything(self):
        self.assertEqual({item["kind"] for item in self.items},
                         {"path", "arc", "text", "link", "anchor"})
        self.assertEqual(len({item["text"] for item in self.texts}), len(self.texts))

    def test_the_same_bytes_again(self):
        with tempfile.TemporaryDirectory() as again:
            output_of(PROGRAM, again)
            self.assertEqual(sorted(os.listdir(again)), sorted(os.listdir(self.folder)))
            for name in os.listdir(again):
                with open(os.path.join(again, name), "rb") as one, \
                        open(self.path(name), "rb") as other:
                    self.assertEqual(one.read(), other.read(), name)

    # --- SVG

    def test_svg_fetches_nothing(self):
        with open(self.path("everything.svg"), encoding="utf-8") as file:
            text = file.read()
        self.assertEqual(re.findall(r"https?:[^\"')\s]*", text), ["http://www.w3.org/2000/svg"])
        self.assertEqual({url.split(",")[0] for url in re.findall(r"url\(([^)]*)\)", text)},
                         {"data:font/sfnt;base64"})
        self.assertNotIn("@import", text)
        self.assertNotIn("<!DOCTYPE", text)
        for element in self.svg.iter():
            self.assertNotIn(element.tag, (SVG + "image", SVG + "use", SVG + "script"))
            self.assertFalse([name for name in element.attrib if name.endswith("href")])

    def test_svg_is_as_large_as_the_paper(self):
        self.assertEqual([self.svg.get("width"), self.svg.get("height"), self.svg.get("viewBox")],
                         ["420mm", "297mm", "0 0 420 297"])

    def svg_texts(self):
        return list(self.svg.iter(SVG + "text"))

    def test_svg_holds_the_texts_where_they_belong(self):
        found = self.svg_texts()
        self.assertEqual([element.text for element in found],
                         [item["text"] for item in self.texts])
        for element, item in zip(found, self.texts):
            self.near([float(element.get("x")), float(element.get("y"))], item["origin"], 0.001,
                      item["text"])
            self.near([float(element.get("textLength"))], [item["width_mm"]], 0.001, item["text"])
            turned = f"rotate(-90 {element.get('x')} {element.get('y')})"
            self.assertEqual(element.get("transform"), turned if item["turned"] else None)
            self.assertEqual(element.get("fill"), f"#{item['rgb']:06X}")

    def test_svg_paths_have_the_points(self):
        paths = [item for item in self.items
                 if item["kind"] in ("path", "arc") and not (item["kind"] == "arc" and
                                                             item["closed"])]
        found = list(self.svg.iter(SVG + "path"))
        self.assertEqual(len(found), len(paths))
        for element, item in zip(found, paths):
            if item["kind"] == "path":
                points = [number for point in item["points"] for number in point]
                self.near(numbers_of(element.get("d")), points, 0.001, "path")
                self.assertEqual(element.get("d").endswith("Z"), item["closed"])
            else:
                self.check_svg_arc(element.get("d"), item)
            self.assertEqual(element.get("stroke") is None, item["weight_mm"] == 0)
            self.assertEqual(element.get("fill") is not None, item["filled"])
            self.assertEqual(len(numbers_of(element.get("stroke-dasharray") or "")),
                             (0, 2, 4)[item["dash"]] if item["weight_mm"] > 0 else 0)

    def check_svg_arc(self, path, item):
        """Pieces of half a circle or less, which together reach from one end to the other."""
        start, *pieces = path[1:].split("A")
        ends = [numbers_of(start)]
        for piece in pieces:
            numbers = numbers_of(piece)
            self.near(numbers[:2], [item["radius_mm"]] * 2, 0.001, "radius")
            self.assertEqual(numbers[2:5], [0, 0, 0])
            ends.append(numbers[5:])
        swept = item["to_deg"] - item["from_deg"]
        self.assertEqual(len(pieces), 2 if swept > 180 else 1)
        for i, end in enumerate(ends):
            angle = math.radians(item["from_deg"] + swept * i / len(pieces))
            centre = item["points"][0]
            self.near(end, [centre[0] + item["radius_mm"] * math.cos(angle),
                            centre[1] - item["radius_mm"] * math.sin(angle)], 0.001, "arc")

    def test_svg_circles(self):
        circles = [item for item in self.of_kind("arc") if item["closed"]]
        found = list(self.svg.iter(SVG + "circle"))
        self.assertEqual([[float(element.get(name)) for name in ("cx", "cy", "r")]
                          for element in found],
                         [[*item["points"][0], item["radius_mm"]] for item in circles])

    def test_svg_groups_carry_layer_and_row(self):
        groups = [(group.get("class"), group.get("data-table"), group.get("data-key"))
                  for group in self.svg.iter(SVG + "g")]
        self.assertEqual([group for group in groups if group[0] == "wire"],
                         [("wire", "conductor", "W0001"), ("wire", "conductor", "W<2>&\"'"),
                          ("wire", "conductor", "W\u0416 ")])
        self.assertEqual([group for group in groups if group[0] == "box"],
                         [("box", "unit", "NAV1"), ("box", None, None)])
        self.assertEqual({group[0] for group in groups},
                         {item["layer"] for item in self.items
                          if item["kind"] not in ("link", "anchor")})
        title = self.svg.find(SVG + "title").text
        self.assertEqual(title, "Everything <at> \"once\" & 'more'")

    # --- DXF

    def test_dxf_has_no_errors_and_needs_no_mending(self):
        strict = ezdxf.readfile(self.path("everything.dxf"))
        for auditor in (strict.audit(), self.recovered):
            self.assertEqual([error.message for error in auditor.errors], [])
            self.assertEqual([fix.message for fix in auditor.fixes], [])
        self.assertEqual(strict.dxfversion, "AC1009")

    @staticmethod
    def entities_of(item):
        """What an item is in DXF, without the triangles of its fill."""
        if item["kind"] == "text":
            return ["TEXT"]
        if item["kind"] == "path":
            line = "LINE" if len(item["points"]) == 2 else "POLYLINE"
            return [line] if item["weight_mm"] > 0 else []
        if item["kind"] == "arc":
            disc = ["POLYLINE"] if item["filled"] else []
            line = "CIRCLE" if item["closed"] else "ARC"
            return disc + ([line] if item["weight_mm"] > 0 else [])
        return []

    def test_dxf_layers_hold_what_they_should(self):
        wanted = {}
        for item in self.items:
            for kind in self.entities_of(item):
                key = (item["layer"], kind)
                wanted[key] = wanted.get(key, 0) + 1
        found = {}
        for entity in self.dxf.modelspace():
            if entity.dxftype() != "SOLID":
                key = (entity.dxf.layer, entity.dxftype())
                found[key] = found.get(key, 0) + 1
        self.assertEqual(found, wanted)
        declared = {layer.dxf.name for layer in self.dxf.layers}
        self.assertLessEqual({item["layer"] for item in self.items}, declared)

    def test_dxf_fills_cover_the_same_area(self):
        for layer in ("insulation", "finding"):
            wanted = sum(self.area(item["points"]) for item in self.of_kind("path")
                         if item["filled"] and item["layer"] == layer)
            found = sum(self.area([(corner.x, corner.y) for corner in solid.vertices()])
                        for solid in self.dxf.modelspace().query(f'SOLID[layer=="{layer}"]'))
            self.assertAlmostEqual(found, wanted, delta=0.01, msg=layer)

    @staticmethod
    def area(points):
        return abs(sum(x1 * y2 - x2 * y1
                       for (x1, y1), (x2, y2) in zip(points, points[1:] + points[:1]))) / 2

    def test_dxf_texts_height_rotation_ends(self):
        found = list(self.dxf.modelspace().query("TEXT"))
        self.assertEqual([decoded(entity.dxf.text) for entity in found],
                         [item["text"] for item in self.texts])
        for entity, item in zip(found, self.texts):
            name, start, end = entity.get_placement()
            self.assertEqual(name.name, "FIT")
            self.near([entity.dxf.height, entity.dxf.rotation],
                      [item["height_mm"], 90 if item["turned"] else 0], 1e-6, item["text"])
            x_mm, y_mm = item["origin"]
            width_mm = item["width_mm"]
            ends = [x_mm, 297 - y_mm, x_mm, 297 - y_mm + width_mm] if item["turned"] else \
                [x_mm, 297 - y_mm, x_mm + width_mm, 297 - y_mm]
            self.near([start.x, start.y, end.x, end.y], ends, 0.0002, item["text"])

    def test_dxf_extents(self):
        self.assertEqual([self.dxf.header["$EXTMIN"][:2], self.dxf.header["$EXTMAX"][:2]],
                         [(0, 0), (420, 297)])
        for layer in ("wire", "symbol", "insulation", "box"):
            boxes = [item["box"] for item in self.items if item["layer"] == layer]
            extent = ezdxf.bbox.extents(self.dxf.modelspace().query(f'*[layer=="{layer}"]'))
            self.near([extent.extmin.x, 297 - extent.extmax.y, extent.extmax.x,
                       297 - extent.extmin.y],
                      [min(box[0] for box in boxes), min(box[1] for box in boxes),
                       max(box[2] for box in boxes), max(box[3] for box in boxes)], 0.01, layer)

    def test_dxf_arcs(self):
        wanted = [item for item in self.of_kind("arc")
                  if not item["closed"] and item["weight_mm"] > 0]
        for arc, item in zip(self.dxf.modelspace().query("ARC"), wanted):
            for end, angle in ((arc.start_point, item["from_deg"]), (arc.end_point,
                                                                     item["to_deg"])):
                centre = item["points"][0]
                self.near([end.x, end.y],
                          [centre[0] + item["radius_mm"] * math.cos(math.radians(angle)),
                           297 - centre[1] + item["radius_mm"] * math.sin(math.radians(angle))],
                          0.001, "arc")

    # --- PDF

    def test_pdf_is_sound(self):
        for name in ("everything.pdf", "document.pdf"):
            # qpdf leaves with 3 after a warning, and output_of then fails.
            output_of("qpdf", "--check", self.path(name))
            for line in output_of("pdffonts", self.path(name)).splitlines()[2:]:
                self.assertEqual(line.split()[-5:-2], ["yes", "yes", "yes"], line)

    def test_pdf_has_the_texts(self):
        found = output_of("pdftotext", self.path("everything.pdf"), "-")
        lines = {self.words(line) for line in found.replace("\f", "\n").split("\n")}
        missing = [item["text"] for item in self.texts if self.words(item["text"]) not in lines]
        self.assertEqual(missing, [])

    @staticmethod
    def words(text):
        """A text as its letters in any order: poppler gives two-way text its own marks and order,
        and joins accents to their letters."""
        import unicodedata
        flat = unicodedata.normalize("NFC", text)
        return "".join(sorted(letter for letter in flat
                              if not letter.isspace() and letter not in "\u202a\u202b\u202c"))

    def test_pdf_pages_have_their_size(self):
        info = output_of("pdfinfo", "-f", "1", "-l", "9", self.path("document.pdf"))
        sizes = [numbers_of(line.split("size:")[1])[:2] for line in info.splitlines()
                 if re.match(r"Page +\d+ size:", line)]
        wanted = [(420, 297), (297, 210), (279.4, 215.9)]
        self.assertEqual(len(sizes), 3)
        for size, (width_mm, height_mm) in zip(sizes, wanted):
            self.near(size, [width_mm * POINTS_PER_MM, height_mm * POINTS_PER_MM], 0.01, "page")
        self.assertIn("Sat Jan 31 00:00:00 2026", info)
        self.assertIn("Everything <at> \"once\" & 'more'", info)

    def document(self, name):
        return json.loads(output_of("qpdf", "--json", self.path(name)))

    def test_pdf_links_stand_and_lead_where_they_should(self):
        document = self.document("document.pdf")
        objects = {name[4:]: value["value"] for name, value in document["qpdf"][1].items()
                   if "value" in value}
        pages = [page["object"] for page in document["pages"]]
        catalogue = objects[document["qpdf"][1]["trailer"]["value"]["/Root"]]
        names = objects[objects[catalogue["/Names"]]["/Dests"]]["/Names"]
        # A name tree is in the order of its names (ISO 32000-1, 7.9.6).
        self.assertEqual(names[::2], sorted(names[::2]))
        goals = {name: goal[0] for name, goal in zip(names[::2], names[1::2])}
        self.assertEqual(goals, {"u:" + name: page for name, page in zip(NAMES, pages)})
        for number, page in enumerate(pages):
            links = [objects[link] for link in objects[page]["/Annots"]]
            self.assertEqual([link.get("/Dest") for link in links[:3]],
                             ["u:" + name for name in NAMES])
            self.assertEqual(links[3]["/A"]["/URI"], "u:https://example.invalid/a%28b%29c?d=e&f=g")
            height = objects[page]["/MediaBox"][3]
            for i, link in enumerate(links):
                top_mm = 40 + 10 * i if i < 3 else 80
                # cairo rounds the area to whole points, outwards.
                self.near(link["/Rect"],
                          [30 * POINTS_PER_MM, height - (top_mm + 5) * POINTS_PER_MM,
                           60 * POINTS_PER_MM, height - top_mm * POINTS_PER_MM], 1.01,
                          f"link {i} on page {number + 1}")

    def test_pdf_bookmarks(self):
        document = self.document("document.pdf")
        first, part = document["outlines"]
        self.assertEqual(first["title"], "Sheet 1: \u041b\u0438\u0441\u0442 (a \\ b)")
        self.assertEqual([first["destpageposfrom1"], part["destpageposfrom1"]], [1, 2])
        self.assertEqual(part["title"], "Part \u0416 & (two)")
        self.assertEqual([kid["destpageposfrom1"] for kid in part["kids"]], [2, 3])

    # --- PNG

    def test_png_has_ink(self):
        with open(self.path("everything.png"), "rb") as file:
            data = file.read()
        self.assertEqual(data[:8], b"\x89PNG\r\n\x1a\n")
        at, body, palette = 8, b"", set()
        while at < len(data):
            length, kind = struct.unpack(">I4s", data[at:at + 8])
            chunk = data[at + 8:at + 8 + length]
            self.assertEqual(struct.unpack(">I", data[at + 8 + length:at + 12 + length])[0],
                             zlib.crc32(kind + chunk))
            if kind == b"IHDR":
                width, height, depth, colours = struct.unpack(">IIBB", chunk[:10])
            elif kind == b"PLTE":
                palette = {chunk[i:i + 3].hex() for i in range(0, length, 3)}
            elif kind == b"IDAT":
                body += chunk
            at += 12 + length
        self.assertEqual((width, height, depth, colours),
                         (math.ceil(420 / 25.4 * 200), math.ceil(297 / 25.4 * 200), 8, 3))
        # Every colour that stands on an area of its own is exactly itself.
        filled = {f"{item['fill_rgb']:06x}" for item in self.items if item["filled"]}
        self.assertLessEqual(filled | {"ffffff"}, palette)
        lines = zlib.decompress(body)
        self.assertEqual(len(lines), height * (width + 1))
        self.assertGreater(len(set(lines)), 20)

    # --- one geometry

    def test_formats_agree_about_texts(self):
        """The left end of every level text of one stretch, in SVG, DXF and PDF."""
        boxes = self.pdf_words()
        compared = 0
        for svg, dxf in zip(self.svg_texts(), self.dxf.modelspace().query("TEXT")):
            start = dxf.get_placement()[1]
            self.near([start.x, 297 - start.y], [float(svg.get("x")), float(svg.get("y"))],
                      PLACE_MM, svg.text)
            word = svg.text.split()[0]
            if svg.get("transform") or svg.text != svg.text.strip() or len(boxes.get(word, [])) != 1:
                continue
            left, top, _, bottom = boxes[word][0]
            self.near([left], [float(svg.get("x"))], WORD_MM, svg.text)
            self.assertTrue(top < float(svg.get("y")) < bottom, svg.text)
            compared += 1
        self.assertGreater(compared, 6)

    def pdf_words(self):
        page = output_of("pdftotext", "-bbox", self.path("everything.pdf"), "-")
        page = re.sub("[\x00-\x08\x0b\x0c\x0e-\x1f]", "", page)
        boxes = {}
        for element in xml.fromstring(page).iter("{http://www.w3.org/1999/xhtml}word"):
            box = [float(element.get(name)) / POINTS_PER_MM
                   for name in ("xMin", "yMin", "xMax", "yMax")]
            boxes.setdefault(element.text, []).append(box)
        return boxes

    def test_formats_agree_about_lines(self):
        lines = [numbers_of(path.get("d")) for path in self.svg.iter(SVG + "path")
                 if "A" not in path.get("d") and len(numbers_of(path.get("d"))) == 4]
        found = list(self.dxf.modelspace().query("LINE"))
        self.assertEqual(len(found), len(lines))
        for line, numbers in zip(found, lines):
            self.near([line.dxf.start.x, 297 - line.dxf.start.y, line.dxf.end.x,
                       297 - line.dxf.end.y], numbers, PLACE_MM, "line")


if __name__ == "__main__":
    unittest.main()
