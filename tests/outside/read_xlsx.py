#!/usr/bin/python3
"""Reads a workbook with nothing but a zip and an XML parser and prints what a test asks for.

    read_xlsx.py FILE sheets           names of the sheets, one a line
    read_xlsx.py FILE csv SHEET        the sheet as a spreadsheet would save it as CSV
    read_xlsx.py FILE head SHEET       freeze line, filter range, format codes of columns
"""
import csv
import re
import sys
import zipfile
from xml.etree import ElementTree

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
REL = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"


def column_number(reference):
    number = 0
    for letter in re.match(r"[A-Z]+", reference).group():
        number = number * 26 + ord(letter) - ord("A") + 1
    return number - 1


def sheet_paths(book):
    relations = {r.get("Id"): r.get("Target")
                 for r in ElementTree.fromstring(book.read("xl/_rels/workbook.xml.rels"))}
    root = ElementTree.fromstring(book.read("xl/workbook.xml"))
    return {s.get("name"): "xl/" + relations[s.get(REL)] for s in root.iter(MAIN + "sheet")}


def shared_strings(book):
    if "xl/sharedStrings.xml" not in book.namelist():
        return []
    root = ElementTree.fromstring(book.read("xl/sharedStrings.xml"))
    return ["".join(t.text or "" for t in s.iter(MAIN + "t")) for s in root.iter(MAIN + "si")]


def cell_text(cell, strings):
    if cell.get("t") == "inlineStr":
        return "".join(t.text or "" for t in cell.iter(MAIN + "t"))
    value = cell.find(MAIN + "v")
    text = "" if value is None else value.text
    return strings[int(text)] if cell.get("t") == "s" else text


def rows(book, path):
    strings = shared_strings(book)
    for row in ElementTree.fromstring(book.read(path)).iter(MAIN + "row"):
        cells = {column_number(c.get("r")): cell_text(c, strings) for c in row}
        yield [cells.get(i, "") for i in range(max(cells, default=-1) + 1)]


def head(book, path):
    root = ElementTree.fromstring(book.read(path))
    pane = next(root.iter(MAIN + "pane"))
    yield "frozen above row %d" % (int(pane.get("ySplit")) + 1)
    yield "filter " + next(root.iter(MAIN + "autoFilter")).get("ref")
    styles = ElementTree.fromstring(book.read("xl/styles.xml"))
    codes = {f.get("numFmtId"): f.get("formatCode") for f in styles.iter(MAIN + "numFmt")}
    codes.update({"0": "General", "1": "0", "49": "@"})
    formats = [codes[x.get("numFmtId")] for x in styles.find(MAIN + "cellXfs")]
    for column in root.iter(MAIN + "col"):
        for _ in range(int(column.get("min")), int(column.get("max")) + 1):
            yield "format " + formats[int(column.get("style", "0"))]


def main():
    with zipfile.ZipFile(sys.argv[1]) as book:
        assert book.testzip() is None
        paths = sheet_paths(book)
        if sys.argv[2] == "sheets":
            print("\n".join(paths))
        elif sys.argv[2] == "csv":
            out = csv.writer(sys.stdout, lineterminator="\r\n")
            out.writerows(rows(book, paths[sys.argv[3]]))
        else:
            print("\n".join(head(book, paths[sys.argv[3]])))


main()
