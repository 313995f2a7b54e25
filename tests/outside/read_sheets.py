#!/usr/bin/python3
"""Every sheet of an aircraft as SVG and DXF, read with an XML parser and with ezdxf: nothing wrong in
either, nothing to fetch, and in both the same texts at the same places and the same lines on the same
layers as on the display list.

    read_sheets.py DRAW_EVERYTHING
"""
import json
import os
import re
import tempfile
import unittest
import xml.etree.ElementTree as xml

import ezdxf.recover

import read_drawing
from read_drawing import PLACE_MM, PROGRAM, SVG, decoded, output_of

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
JOB = "osier_mended"


class Sheets(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.holder = tempfile.TemporaryDirectory()
        output_of(PROGRAM, cls.holder.name, ROOT, JOB)
        cls.names = sorted(name[:-5] for name in os.listdir(cls.holder.name)
                           if name.endswith(".json"))

    @classmethod
    def tearDownClass(cls):
        cls.holder.cleanup()

    def path(self, name, ending):
        return os.path.join(self.holder.name, f"{name}.{ending}")

    def items(self, name):
        with open(self.path(name, "json"), encoding="utf-8") as file:
            items = json.load(file)
        for item in items:
            if "text" in item:
                item["text"] = bytes(item["text"]).decode("utf-8")
        return items

    def test_there_are_sheets_of_every_kind(self):
        kinds = {re.split(r"-\d", name)[0] for name in self.names}
        for kind in ("cover", "contents", "power", "wiring-radio", "connectors", "wire-list",
                     "equipment", "loads"):
            self.assertIn(kind, kinds)

    def test_svg(self):
        for name in self.names:
            with self.subTest(sheet=name):
                self.check_svg(name)

    def check_svg(self, name):
        with open(self.path(name, "svg"), encoding="utf-8") as file:
            text = file.read()
        # Nothing is fetched: no address but the name of the language itself.
        markup = re.sub(r">[^<]*<", "><", text)
        self.assertEqual(re.findall(r"\w+://[^\"')\s]*", markup), ["http://www.w3.org/2000/svg"])
        self.assertEqual({url.split(",")[0] for url in re.findall(r"url\(([^)]*)\)", text)},
                         {"data:font/sfnt;base64"})
        root = xml.fromstring(text.encode())
        self.assertEqual({element.tag for element in root.iter()} -
                         {SVG + tag for tag in ("svg", "title", "style", "rect", "g", "path",
                                                "circle", "text")}, set())
        texts = [item for item in self.items(name) if item["kind"] == "text"]
        found = list(root.iter(SVG + "text"))
        self.assertEqual([element.text for element in found], [item["text"] for item in texts])
        for element, item in zip(found, texts):
            self.assertAlmostEqual(float(element.get("x")), item["origin"][0], delta=PLACE_MM)
            self.assertAlmostEqual(float(element.get("y")), item["origin"][1], delta=PLACE_MM)

    def test_dxf(self):
        for name in self.names:
            with self.subTest(sheet=name):
                self.check_dxf(name)

    def check_dxf(self, name):
        document, auditor = ezdxf.recover.readfile(self.path(name, "dxf"))
        self.assertEqual([error.message for error in auditor.errors], [])
        self.assertEqual([fix.message for fix in auditor.fixes], [])
        items = self.items(name)
        height_mm = document.header["$EXTMAX"][1]
        wanted, found = {}, {}
        for item in items:
            for kind in read_drawing.Drawing.entities_of(item):
                wanted[item["layer"], kind] = wanted.get((item["layer"], kind), 0) + 1
        for entity in document.modelspace():
            if entity.dxftype() != "SOLID":
                key = (entity.dxf.layer, entity.dxftype())
                found[key] = found.get(key, 0) + 1
        self.assertEqual(found, wanted)
        texts = [item for item in items if item["kind"] == "text"]
        for entity, item in zip(document.modelspace().query("TEXT"), texts):
            self.assertEqual(decoded(entity.dxf.text), item["text"])
            start = entity.get_placement()[1]
            self.assertAlmostEqual(start.x, item["origin"][0], delta=PLACE_MM)
            self.assertAlmostEqual(height_mm - start.y, item["origin"][1], delta=PLACE_MM)
        lines = [item for item in items if item["kind"] == "path" and len(item["points"]) == 2 and
                 item["weight_mm"] > 0]
        for entity, item in zip(document.modelspace().query("LINE"), lines):
            for end, point in zip((entity.dxf.start, entity.dxf.end), item["points"]):
                self.assertAlmostEqual(end.x, point[0], delta=PLACE_MM)
                self.assertAlmostEqual(height_mm - end.y, point[1], delta=PLACE_MM)


if __name__ == "__main__":
    unittest.main()
