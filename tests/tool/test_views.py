#!/usr/bin/env python3
"""What views of the aircraft are drawn from, asked over the network and held against what the program
says elsewhere: ways against lengths, thickness against bundles, failures against `marling fail`,
switches put otherwise against a job whose rows say so.

    test_views.py MARLING
"""
import csv
import json
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest
import urllib.error
import urllib.parse
import urllib.request

ROOT = pathlib.Path(__file__).resolve().parents[2]
JOB = "osier_mended"
PHASE = "cruise_night"
HANDLING_MM = 0.5  # lengths are told to a tenth of a millimetre by some, in full by others
marling = ""


def run(*words):
    return subprocess.run([marling, *map(str, words)], capture_output=True, text=True, check=True).stdout


class Views(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp(prefix="marling-views-"))
        cls.job = cls.folder / JOB
        shutil.copytree(ROOT / "examples" / JOB, cls.job)
        run("import", cls.job, cls.folder / "shop.db")
        cls.desk = subprocess.Popen(
            [marling, "serve", cls.folder / "shop.db", "--port", "0", "--by", "Ada"],
            stdout=subprocess.PIPE, text=True)
        cls.url = re.search(r"http://\S+", cls.desk.stdout.readline()).group(0)

    @classmethod
    def tearDownClass(cls):
        cls.desk.kill()
        cls.desk.wait()
        cls.desk.stdout.close()
        shutil.rmtree(cls.folder)

    def ask(self, path, **values):
        query = urllib.parse.urlencode({"job": JOB, **values})
        try:
            with urllib.request.urlopen(f"{self.url}api/{path}?{query}", timeout=60) as answer:
                return answer.status, json.load(answer)
        except urllib.error.HTTPError as refused:
            return refused.code, json.load(refused)

    def good(self, path, **values):
        code, answer = self.ask(path, **values)
        self.assertEqual(code, 200, answer)
        return answer

    def rows(self, table):
        text = run("show", table, self.job, "--library", ROOT / "library", "--format", "csv")
        return list(csv.DictReader(text.splitlines()))

    def test_ways_are_the_lengths(self):
        craft = self.good("geometry")
        segments = craft["segments"]
        lengths = {row["wire"]: float(row["length_mm"]) for row in self.rows("conductor")
                   if row["length_mm"]}
        told = 0
        for _, way, wires in craft["cables"]:
            for here, there in zip(way, way[1:]):
                self.assertTrue(set(segments[here][1:3]) & set(segments[there][1:3]),
                                "a way goes from segment to segment")
            along = sum(segments[segment][4] for segment in way)
            for key, _, _ in wires:
                if key in lengths:
                    self.assertGreaterEqual(lengths[key] + HANDLING_MM, along)
                    told += 1
        self.assertGreater(told, 300)
        self.assertEqual({key for _, _, wires in craft["cables"] for key, _, _ in wires},
                         {row["wire"] for row in self.rows("conductor")})

    def test_thickness_is_the_bundles(self):
        bundles = {row["segment"]: row for row in self.rows("bundle")}
        for key, _, _, _, length, diameter, cables, conductors in self.good("geometry")["segments"]:
            row = bundles.get(key)
            if row is None:
                self.assertEqual(conductors, 0)
                continue
            self.assertAlmostEqual(diameter, float(row["diameter_mm"]), places=6)
            self.assertAlmostEqual(length, float(row["length_mm"]), places=6)
            self.assertEqual((cables, conductors), (int(row["cables"]), int(row["conductors"])))

    def test_failures_are_what_the_command_says(self):
        items = sorted({row["failure"] for row in self.rows("fault")})
        some = items[:: max(1, len(items) // 40)] + ["F_ESSM:open", "ALM:lost", "MAIN:short"]
        dark = 0
        for key in some:
            text = run("fail", self.job, key, "--phase", PHASE, "--library", ROOT / "library")
            said = re.search(r"\n  goes dark {5}((?:.*\n)(?: {16}.*\n)*)", text)
            ends = said.group(1).split() if said else []
            trial = self.good("trial", keys=key, phase=PHASE)
            phase = trial["phases"][0]
            self.assertEqual([port["end"] for port in phase["dark"]], ends, key)
            self.assertEqual(f'{trial["items"][0]["item"]}:{trial["items"][0]["mode"]}', key)
            self.assertIn(trial["items"][0]["meaning"], text)
            for opened in phase["opened"]:
                self.assertIn(f'{opened["device"]} after {opened["seconds"]:.3g} s', " ".join(text.split()))
            for battery in phase["batteries"]:
                if battery["aged_min"] is not None:
                    by_hand = battery["capacity_ah"] * battery["usable_aged"] * 60 / battery["amps_a"]
                    self.assertAlmostEqual(battery["aged_min"], by_hand, places=6)
            dark += len(ends)
        self.assertGreater(dark, 20, "some of them take supplies away")

    def test_a_box_without_supply_has_dark_wires(self):
        phase = self.good("trial", keys="CB_EMS:open", phase=PHASE)["phases"][0]
        self.assertIn("EMS", phase["units"])
        self.assertIn("W0115", phase["wires"], "what feeds it")
        nothing = self.good("trial", keys="", phase=PHASE)["phases"][0]
        self.assertEqual([nothing[name] for name in ("dark", "wires", "units", "buses")], [[]] * 4)
        self.assertIn("ESS", self.good("trial", keys="F_ESSM", phase=PHASE)["phases"][0]["buses"])

    def test_switches_are_the_rows_of_setting(self):
        tried = self.good("trial", keys="F_ESSM", phase=PHASE, settings="SW_ESS:on SW_NAV:off")
        path = self.job / "setting.csv"
        before = path.read_text()
        try:
            lines = [line for line in before.splitlines() if not line.startswith(f"{PHASE},SW_NAV,")]
            path.write_text("\n".join([*lines, f"{PHASE},SW_ESS,on", f"{PHASE},SW_NAV,off", ""]))
            text = run("fail", self.job, "F_ESSM:open", "--phase", PHASE, "--library", ROOT / "library")
        finally:
            path.write_text(before)
        said = re.search(r"\n  goes dark {5}((?:.*\n)(?: {16}.*\n)*)", text)
        self.assertEqual([port["end"] for port in tried["phases"][0]["dark"]],
                         said.group(1).split() if said else [])
        position = {row["item"]: row["position"] for row in tried["switches"]}
        self.assertEqual((position["SW_ESS"], position["SW_NAV"]), ("on", "off"))
        self.assertEqual({row["item"]: row["position"] for row in
                          self.good("trial", keys="", phase=PHASE)["switches"]}["SW_ESS"], "off",
                         "nothing was written")

    def test_refusals_say_what_would_do(self):
        for values, code, words in [
            ({"keys": "F_ESSMM"}, 404, "F_ESSM;"),
            ({"keys": "ALM", "phase": "cruise_nigt"}, 404, PHASE),
            ({"keys": "ALM", "settings": "SW_ESS:on"}, 400, "phase"),
            ({"keys": "ALM", "phase": PHASE, "settings": "SW_ESS"}, 400, "ITEM:POSITION"),
            ({"keys": "ALM", "phase": PHASE, "settings": "SW_ESS:sideways"}, 400, "sideways"),
            ({"keys": "ALM", "phase": PHASE, "settings": "NOTHING:on"}, 400, "NOTHING"),
            ({"keys": "ALM " * 9}, 404, "at most"),
        ]:
            got, answer = self.ask("trial", **values)
            self.assertEqual(got, code, (values, answer))
            self.assertIn(words, answer["error"])

    def test_a_wire_is_drawn_where_its_ends_are(self):
        sheets = self.good("drawn", key="W0115")["sheets"]
        self.assertTrue(any(name.startswith("wiring-") for name in sheets), sheets)
        self.assertTrue(any(name.startswith("connectors-") for name in sheets), sheets)
        self.assertEqual(self.good("drawn", key="W011")["sheets"], [], "a part of a key is another key")


if __name__ == "__main__":
    marling = sys.argv.pop(1)
    unittest.main(verbosity=1)
