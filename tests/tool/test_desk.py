#!/usr/bin/env python3
"""The desk on the network: what is asked as it should be is answered, what is not is refused in words,
and nothing that a stranger sends reaches the file or stops the program.

    test_desk.py MARLING
"""
import http.client
import json
import os
import random
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import threading
import time

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
MARLING = os.path.abspath(sys.argv[1])
FOLDER = tempfile.mkdtemp(prefix="marling-desk-")
SHOP = os.path.join(FOLDER, "shop.db")
JSON = {"Content-Type": "application/json"}


def expect(good, what):
    if not good:
        sys.exit("not so: " + str(what))


def ask(method, path, body=None, headers=None, raw=False):
    connection = http.client.HTTPConnection("127.0.0.1", PORT, timeout=20)
    connection.request(method, path, body, headers or {})
    answer = connection.getresponse()
    text = answer.read()
    connection.close()
    return answer if raw else (answer.status, text)


def change(path, body, headers=None):
    status, text = ask("POST", path, json.dumps(body), headers or JSON)
    return status, json.loads(text)


def table(name, job="first"):
    return json.loads(ask("GET", f"/api/table?job={job}&table={name}")[1])


def edit(before, after, seen=None, name="unit"):
    one = {"table": name, "before": before, "after": after}
    if seen is not None:
        one["seen"] = seen
    return change("/api/edit", {"job": "first", "what": "test", "edits": [one]})


def answers_what_is_asked():
    status, text = ask("GET", "/api/shop")
    names = [job["name"] for job in json.loads(text)["jobs"]]
    expect(status == 200 and names == ["first", "osier", "osier_mended"], text)
    status, text = ask("GET", "/")
    expect(status == 200 and b"<html" in text, "the page is there")
    for path, kind in (("/api/sheet?job=first&sheet=power-1", b"<svg"),
                       ("/api/why?job=first&key=W0008", b"W0008"),
                       ("/api/fail?job=first&keys=W0008:open", b"W0008"),
                       ("/api/search?job=first&words=w0008", b"W0008"),
                       ("/api/log?job=first", b"import"),
                       ("/api/schema", b"stub_mm")):
        status, text = ask("GET", path)
        expect(status == 200 and kind in text, (path, text[:200]))
    for name in ("conductor", "finding", "piece", "card_line"):
        expect(ask("GET", f"/api/table?job=osier&table={name}")[0] == 200, name)


def refuses_in_words():
    for path, status, said in (("/api/job?job=frist", 404, "first"),
                               ("/api/table?job=first&table=unti", 404, "unit"),
                               ("/api/sheet?job=first&sheet=powr-1", 404, "power-1"),
                               ("/api/why?job=first&key=NAVV", 404, "nothing in this job"),
                               ("/api/job", 400, "missing"),
                               ("/api/jbo", 404, "/api/job"),
                               ("/api/undo", 405, "not asked that way")):
        got, text = ask("GET", path)
        expect(got == status and said in text.decode(), (path, got, text))


def edits_meet():
    rows = table("unit")
    row, seen = rows["rows"][0], rows["acts"][0]
    key = {"tag": row["tag"]}
    status, done = edit(key, {**row, "stub_mm": "1 ft"}, seen)
    expect(status == 200, done)
    status, late = edit(key, {**row, "stub_mm": 5}, seen)
    expect(status == 409 and late["act"] == done["act"] and late["person"] == "Ada", late)
    expect(table("unit")["rows"][0]["stub_mm"] == 304.8, "feet become mm")
    status, bad = edit(key, {**row, "stub_mm": "5 V", "colour": "red"})
    expect(status == 422 and {c["column"] for c in bad["cells"]} == {"stub_mm", "colour"}, bad)
    status, blank = edit(key, {**row, "part": ""})
    expect(status == 422 and blank["column"] == "part", blank)
    status, other = edit(key, {}, name="wire")
    expect(status == 400, "a library table is not part of a job")
    expect(change("/api/undo", {"job": "first"})[1]["act"] == done["act"], "undo")
    expect(table("unit")["rows"] == rows["rows"], "undone")


def keeps_strangers_out():
    ours = f"127.0.0.1:{PORT}"
    before = ask("GET", "/api/log?job=first")[1]
    for headers, status in (({**JSON, "Host": "desk.example:80"}, 403),
                            ({**JSON, "Host": f"127.0.0.1.example:{PORT}"}, 403),
                            ({**JSON, "Origin": "http://other.example"}, 403),
                            ({**JSON, "Origin": "null"}, 403),
                            ({**JSON, "Origin": f"http://{ours}.other.example"}, 403),
                            ({**JSON, "Sec-Fetch-Site": "cross-site"}, 403),
                            ({"Content-Type": "text/plain"}, 415),
                            ({"Content-Type": "application/x-www-form-urlencoded"}, 415),
                            ({}, 415)):
        got, _ = ask("POST", "/api/undo", '{"job":"first"}', headers)
        expect(got == status, (headers, got))
    expect(ask("GET", "/api/log?job=first")[1] == before, "nothing was changed")
    answer = ask("GET", "/", raw=True)
    expect("script-src 'self'" in answer.headers["Content-Security-Policy"], "policy")
    expect("frame-ancestors 'none'" in answer.headers["Content-Security-Policy"], "frames")
    expect(answer.headers["X-Content-Type-Options"] == "nosniff", "nosniff")
    for path in ("/../shop.db", "/%2e%2e/shop.db", "//etc/passwd", "/api/../../etc/passwd",
                 "/app.js/../../shop.db", "/shop.db", "/api/table%00?job=first"):
        status, text = ask("GET", path)
        expect(status in (400, 403, 404) and b"SQLite" not in text and b"root:" not in text, path)


def all_sheets(job):
    """Names of all sheets, once the rest was laid out after the diagrams."""
    for _ in range(600):
        answer = json.loads(ask("GET", f"/api/sheets?job={job}")[1])
        names = [sheet["name"] for sheet in answer["sheets"]]
        if answer["all"]:
            return names
        expect(names and "contents" not in names, "until then the diagrams")
        time.sleep(0.1)
    raise AssertionError("the sheets are never laid out")


def diagrams_come_first():
    names = all_sheets("first")
    expect("contents" in names and "cover" in names, names)
    row = table("unit")["rows"][0]
    for i in range(6):  # what was begun for an edit is dropped by the next
        expect(edit({"tag": row["tag"]}, {**row, "role": f"role {i}"})[0] == 200, "an edit")
        row = table("unit")["rows"][0]
        status, text = ask("GET", "/api/sheet?job=first&sheet=power-1")
        expect(status == 200 and b"<svg" in text, "a diagram at once")
    # Sheets of the bench wait for the bench, and show the last edit.
    status, text = ask("GET", "/api/sheet?job=first&sheet=equipment")
    expect(status == 200 and b"role 5" in text, "the rest after it")
    expect(all_sheets("first") == names, "the same sheets")
    for _ in range(6):
        change("/api/undo", {"job": "first"})


def script_stays_text():
    evil = "<script>alert(1)</script><img src=x onerror=alert(1)>"
    row = table("unit")["rows"][0]
    expect(edit({"tag": row["tag"]}, {**row, "role": evil})[0] == 200, "any text is taken")
    for sheet in all_sheets("first"):
        _, text = ask("GET", f"/api/sheet?job=first&sheet={sheet}")
        expect(b"<script" not in text and b"<img" not in text, sheet)
    change("/api/undo", {"job": "first"})


def tries_a_panel():
    """Of the corrected example: one item moved is told of and written nowhere."""
    def tried(body, query="job=osier_mended"):
        return ask("POST", f"/api/panel/try?{query}", json.dumps(body), JSON)
    status, text = ask("GET", "/api/panel?job=osier_mended")
    panel = json.loads(text)
    expect(status == 200 and len(panel["items"]) == 67, "the panel")
    expect(json.loads(tried({})[1])["new"] == 0, "nothing changed, nothing new")
    found = json.loads(tried({"moves": [{"item": "SBY", "u_mm": -471}]})[1])
    edge = [one for one in found["findings"] if one["new"] and one["rule"] == "panel.edge"]
    expect(len(edge) == 1 and abs(edge[0]["value"] - 9.1) < 0.005, found["findings"])
    expect(json.loads(ask("GET", "/api/panel?job=osier_mended")[1]) == panel, "nothing is written")
    for body, query, wanted in (({"moves": [{"item": "SBX", "u_mm": 0}]}, "job=osier_mended", 404),
                                ({"legends": [{"legend": "CB01"}]}, "job=osier_mended", 400),
                                ({"moves": [{"item": "SBY"}] * 3000}, "job=osier_mended", 400),
                                ({"moves": [1, None, {"item": 3}]}, "job=osier_mended", 404),
                                ({}, "job=first", 409), ({}, "job=osier_mendet", 404), ({}, "", 400)):
        status, text = tried(body, query)
        expect(status == wanted and "error" in json.loads(text), (str(body)[:60], status))
    status, picture = ask("GET", "/api/panel/picture?job=osier_mended&width=320")
    expect(status == 200 and picture.startswith(b"\x89PNG"), "a picture")
    for query in ("face=MAIM", "finish=powder", "option=O99"):
        expect(ask("GET", f"/api/panel/picture?job=osier_mended&{query}")[0] == 404, query)


def stands_rubbish():
    draw = random.Random(20260511)
    bodies = [b"", b"[]", b"null", b"{", b'{"job":1}', b'{"job":"first"}', b"[" * 100000,
              b'{"job":"first","edits":{}}', b'{"job":"first","edits":[1]}',
              b'{"job":"first","edits":[{"table":"unit"}]}', b"\xff\xfe\x00",
              b'{"job":"first","edits":[{"table":"unit","after":{"tag":{"a":[]}}}]}',
              b'{"job":"first","edits":[{"table":"finding","after":{}}]}',
              b'{"job":"first","job":"osier"}']
    base = json.dumps({"job": "first", "edits": [{"table": "unit", "after": {"tag": "X"}}]}).encode()
    for _ in range(200):
        body = bytearray(base)
        for _ in range(draw.randrange(1, 6)):
            body[draw.randrange(len(body))] = draw.randrange(256)
        bodies.append(bytes(body))
    for body in bodies:
        status, _ = ask("POST", "/api/edit", body, JSON)
        expect(status in (200, 400, 404, 409, 422), (status, body[:80]))
    connection = socket.create_connection(("127.0.0.1", PORT), timeout=20)
    head = f"POST /api/edit HTTP/1.1\r\nHost: 127.0.0.1:{PORT}\r\nContent-Type: application/json\r\n"
    connection.sendall((head + f"Content-Length: {5 << 20}\r\n\r\n").encode())
    try:
        connection.sendall(b"x" * (5 << 20))
    except OSError:
        pass
    answer = connection.recv(400)
    expect(b" 413 " in answer.split(b"\r\n")[0], answer[:100])
    connection.close()
    for text in (b"GET\r\n\r\n", b"\x16\x03\x01\x02\x00", b"GET / HTTP/9.9\r\n\r\n",
                 b"GET / HTTP/1.1\r\nHost: " + b"a" * 100000 + b"\r\n\r\n"):
        connection = socket.create_connection(("127.0.0.1", PORT), timeout=20)
        try:
            connection.sendall(text)
            connection.shutdown(socket.SHUT_WR)
            connection.recv(1000)
        except OSError:
            pass
        connection.close()
    sleepers = [socket.create_connection(("127.0.0.1", PORT)) for _ in range(60)]
    expect(ask("GET", "/api/shop")[0] == 200, "slow senders stop nobody")
    for sleeper in sleepers:
        sleeper.close()


def tells_changes_to_all():
    got = []

    def listen():
        connection = http.client.HTTPConnection("127.0.0.1", PORT, timeout=20)
        connection.request("GET", "/api/events")
        answer = connection.getresponse()
        while True:
            line = answer.fp.readline()
            if line.startswith(b":"):
                ready.release()
            if line.startswith(b"data:") or not line:
                got.append(line)
                break
        connection.close()

    ready = threading.Semaphore(0)
    listeners = [threading.Thread(target=listen) for _ in range(12)]
    for listener in listeners:
        listener.start()
    for _ in listeners:
        expect(ready.acquire(timeout=20), "a stream says that it is open")
    row = table("unit")["rows"][1]
    edit({"tag": row["tag"]}, {**row, "stub_mm": row["stub_mm"] + 1})
    for listener in listeners:
        listener.join(timeout=20)
    expect(len(got) == 12 and all(b'"act"' in line for line in got), got)
    change("/api/undo", {"job": "first"})


def many_edit_at_once(people=8, edits=25):
    rows = table("unit")["rows"]
    refused = []

    def work(number):
        for k in range(edits):
            row = rows[number % len(rows)]
            status, answer = edit({"tag": row["tag"]}, {**row, "stub_mm": 100 + number + k * 10})
            if status != 200:
                refused.append(answer)
            ask("GET", "/api/job?job=first")

    workers = [threading.Thread(target=work, args=(i,)) for i in range(people)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    expect(refused == [], refused[:3])
    acts = json.loads(ask("GET", "/api/log?job=first")[1])["acts"]
    expect(sum(act["kind"] == "edit" for act in acts) >= people * (edits - 1), "every edit is there")


for example in ("first", "osier", "osier_mended"):
    subprocess.run([MARLING, "import", os.path.join(ROOT, "examples", example), SHOP], check=True,
                   stderr=subprocess.DEVNULL)
DESK = subprocess.Popen([MARLING, "serve", SHOP, "--port", "0", "--by", "Ada"],
                        stdout=subprocess.PIPE, text=True)
try:
    PORT = int(re.search(r":(\d+)/", DESK.stdout.readline()).group(1))
    answers_what_is_asked()
    refuses_in_words()
    edits_meet()
    keeps_strangers_out()
    diagrams_come_first()
    script_stays_text()
    tries_a_panel()
    stands_rubbish()
    tells_changes_to_all()
    many_edit_at_once()
    expect(DESK.poll() is None, "the desk still runs")
    DESK.terminate()
    expect(DESK.wait(timeout=20) == 0, "it ends when it is told to")
    done = subprocess.run([MARLING, "check-shop", SHOP], capture_output=True, text=True)
    expect(done.returncode == 0, done.stdout)
finally:
    DESK.kill()
    shutil.rmtree(FOLDER)
print("the desk answers, refuses and stands")
