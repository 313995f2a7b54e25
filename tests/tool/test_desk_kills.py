#!/usr/bin/env python3
"""The desk is killed at random moments while twenty tablets tick and three designers edit. After
each kill the shop file is whole; whatever was acknowledged is there, once; what was not is sent
again, and stands once. Then a full disk and a file that may not be written: told in words, nothing
lost.

    test_desk_kills.py MARLING [KILLS]

MARLING_KILLS in the environment sets the number of kills too.
"""
import base64
import http.client
import json
import os
import random
import re
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
SEED = 20260512
TABLETS = 20
DESIGNERS = 3
JSON = {"Content-Type": "application/json"}
PIXEL = base64.b64decode("iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9"
                         "awAAAABJRU5ErkJggg==")


def expect(good, what):
    if not good:
        raise AssertionError(what)


def run(*words):
    return subprocess.run([MARLING, *words], capture_output=True, text=True)


class Desk:
    """The desk's process. Those who ask wait until it is up again."""

    def __init__(self):
        self.process = None
        self.port = 0
        self.up = threading.Event()
        self.start_s = []

    def start(self, **how):
        begin = time.monotonic()
        self.process = subprocess.Popen([MARLING, "serve", SHOP, "--port", "0", "--by", "Ada"],
                                        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
                                        **how)
        line = self.process.stdout.readline()
        expect(line, "the desk does not start: " + self.process.stderr.read() if not line else "")
        self.port = int(re.search(r":(\d+)/", line).group(1))
        self.start_s.append(time.monotonic() - begin)
        self.up.set()

    def kill(self):
        self.up.clear()
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()
        self.process.stdout.close()
        self.process.stderr.close()


class Caller:
    """One connection that is kept while the desk lives; None when there was no answer."""

    def __init__(self, desk):
        self.desk = desk
        self.connection = None
        self.port = 0

    def ask(self, method, path, body=None):
        self.desk.up.wait()
        if self.connection is None or self.port != self.desk.port:
            self.port = self.desk.port
            self.connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        try:
            self.connection.request(method, path, None if body is None else json.dumps(body),
                                    JSON if body is not None else {})
            answer = self.connection.getresponse()
            return answer.status, json.loads(answer.read())
        except (OSError, http.client.HTTPException, ValueError):
            self.connection.close()
            self.connection = None
            time.sleep(0.005)
            return None


class Tablet(threading.Thread):
    """Ticks in small batches and sends each until it is told that it is kept."""

    def __init__(self, number, desk):
        super().__init__(daemon=True)
        self.number = number
        self.draw = random.Random(SEED + number)
        self.caller = Caller(desk)
        self.made = 0
        self.acknowledged = {}  # key: item
        self.again = 0
        self.unsure = None  # batch on its way
        self.problem = None

    def batch(self):
        rows = []
        for _ in range(self.draw.randrange(1, 4)):
            key = f"t{self.number}-{self.made}"
            item = f"W{self.draw.randrange(1000):04}.1"
            row = {"tick": key, "module": "PNL", "operation": "crimp", "item": item,
                   "person": f"builder {self.number}", "time": "2026-05-12T08:00:00Z"}
            if self.made > 0 and self.draw.random() < 0.1:
                row["undoes"] = f"t{self.number}-{self.made - 1}"
            rows.append({"table": "bench_tick", "row": row})
            self.made += 1
        return rows

    def run(self):
        try:
            while not ENDING.is_set():
                if self.unsure is None:
                    self.unsure = self.batch()
                self.send()
                time.sleep(self.draw.random() * 0.02)
            while self.unsure is not None:
                self.send()
        except Exception as error:  # told by the main thread
            self.problem = error

    def send(self):
        got = self.caller.ask("POST", "/api/bench/add", {"job": "first", "rows": self.unsure})
        if got is None:
            self.again += 1
            return
        status, answer = got
        keys = [row["row"]["tick"] for row in self.unsure]
        expect(status == 200 and answer["kept"] == keys and answer["refused"] == [], got)
        with LOCK:
            for row in self.unsure:
                self.acknowledged[row["row"]["tick"]] = row["row"]["item"]
        self.unsure = None


class Designer(threading.Thread):
    """Changes a row of its own, one step after the other. An edit without an answer is sent again
    as it was: it is done now, or refused because it was done then."""

    def __init__(self, number, desk):
        super().__init__(daemon=True)
        self.number = number
        self.draw = random.Random(SEED + 100 + number)
        self.caller = Caller(desk)
        self.acknowledged = []  # words of edits
        self.value = 0
        self.found_done = 0
        self.problem = None

    def row(self):
        while True:
            got = self.caller.ask("GET", "/api/table?job=first&table=unit")
            if got is not None:
                rows = got[1]
                return rows["rows"][self.number], rows["acts"][self.number]

    def run(self):
        try:
            row, seen = self.row()
            while not ENDING.is_set():
                self.value += 1
                seen = self.edit(row, seen)
                if self.draw.random() < 0.1:
                    self.caller.ask("GET", "/api/job?job=first")
                time.sleep(self.draw.random() * 0.03)
        except Exception as error:
            self.problem = error

    def edit(self, row, seen):
        words = f"designer {self.number} step {self.value}"
        body = {"job": "first", "what": words,
                "edits": [{"table": "unit", "before": {"tag": row["tag"]},
                           "after": {**row, "stub_mm": 100 + self.value}, "seen": seen}]}
        sure = True
        while True:
            got = self.caller.ask("POST", "/api/edit", body)
            if got is None:
                sure = False
                continue
            status, answer = got
            if status == 409 and not sure:  # it was done before the answer could be given
                self.found_done += 1
                act = self.row()[1]
            else:
                expect(status == 200, got)
                act = answer["act"]
            with LOCK:
                self.acknowledged.append((words, self.value))
            return act


def whole(kill):
    done = run("check-shop", SHOP)
    expect(done.returncode == 0, f"after kill {kill}: {done.stdout}{done.stderr}")


def nothing_is_lost(kill, tablets, designers):
    """Reads the file itself, with another program's eyes."""
    base = sqlite3.connect(SHOP)
    rows = base.execute("SELECT tick, item FROM bench_tick").fetchall()
    there = dict(rows)
    expect(len(there) == len(rows), f"after kill {kill} a tick stands twice")
    known = set()
    for tablet in tablets:
        for key, item in tablet.acknowledged.items():
            expect(there.get(key) == item, f"after kill {kill} tick {key} is lost or changed")
        known.update(tablet.acknowledged)
        known.update(row["row"]["tick"] for row in tablet.unsure or [])
    strange = [key for key in there if key not in known]
    expect(strange == [], f"after kill {kill} ticks that nobody made: {strange[:5]}")
    words = [text for (text,) in base.execute("SELECT what FROM shop_act WHERE kind = 'edit'")]
    expect(len(set(words)) == len(words), f"after kill {kill} an edit was done twice")
    done = set(words)
    for designer in designers:
        for text, _ in designer.acknowledged:
            expect(text in done, f"after kill {kill} \"{text}\" is lost")
        last = designer.acknowledged[-1][1] if designer.acknowledged else 0
        text = f"designer {designer.number} step"
        values = [value for what, value in ((w, int(w.rsplit(" ", 1)[1])) for w in words)
                  if what.startswith(text)]
        expect(not values or max(values) - last in (0, 1), f"after kill {kill}: {text}")
    base.close()
    return len(rows)


def survives_kills(kills):
    draw = random.Random(SEED)
    desk = Desk()
    desk.start()
    tablets = [Tablet(i, desk) for i in range(TABLETS)]
    designers = [Designer(i, desk) for i in range(DESIGNERS)]
    for worker in tablets + designers:
        worker.start()
    begin = time.monotonic()
    for kill in range(kills):
        time.sleep(0.05 + draw.random() * 0.35)
        desk.kill()
        whole(kill)
        with LOCK:  # nobody is told anything while the desk is down, but answers may be on their way
            pass
        time.sleep(0.02)
        with LOCK:
            nothing_is_lost(kill, tablets, designers)
        for worker in tablets + designers:
            expect(worker.problem is None, worker.problem)
        desk.start()
    ENDING.set()
    for worker in tablets + designers:
        worker.join(timeout=60)
        expect(not worker.is_alive() and worker.problem is None, worker.problem)
    seconds = time.monotonic() - begin
    count = nothing_is_lost("the last", tablets, designers)
    expect(count == sum(tablet.made for tablet in tablets), "every tick stands once")
    # A resend of everything adds nothing.
    caller = Caller(desk)
    rows = [{"table": "bench_tick", "row": {"tick": key, "module": "PNL", "operation": "crimp",
                                            "item": item, "time": "2026-05-12T08:00:00Z"}}
            for key, item in list(tablets[0].acknowledged.items())[:200]
            if not undone_by(key)]
    status, answer = caller.ask("POST", "/api/bench/add", {"job": "first", "rows": rows})
    expect(status == 200 and answer["added"] == 0 and len(answer["kept"]) == len(rows), answer)
    changed = [{**rows[0], "row": {**rows[0]["row"], "item": "W9999.1"}}]
    status, answer = caller.ask("POST", "/api/bench/add", {"job": "first", "rows": changed})
    expect(answer["kept"] == [] and len(answer["refused"]) == 1, "another row under that key")
    desk.process.terminate()
    expect(desk.process.wait(timeout=20) == 0, "it ends when it is told to")
    whole("the end")
    again = sum(tablet.again for tablet in tablets)
    edits = sum(len(designer.acknowledged) for designer in designers)
    found = sum(designer.found_done for designer in designers)
    expect(again > kills // 4, f"kills came while something was on its way ({again})")
    print(f"{kills} kills in {seconds:.0f} s (seed {SEED}): {count} ticks and {edits} edits, none lost"
          f" or doubled; {again} batches sent again, {found} edits found done;"
          f" the desk starts in {1000 * sorted(desk.start_s)[len(desk.start_s) // 2]:.0f} ms,"
          f" at most {1000 * max(desk.start_s):.0f}")


def undone_by(key):
    base = sqlite3.connect(SHOP)
    row = base.execute("SELECT undoes FROM bench_tick WHERE tick = ?", (key,)).fetchone()
    base.close()
    return row is not None and row[0]


def tick(caller, key):
    return caller.ask("POST", "/api/bench/add", {"job": "first", "rows": [
        {"table": "bench_tick", "row": {"tick": key, "module": "PNL", "operation": "cut"}}]})


def disk_is_full():
    """No file may grow: what the desk sees is a full disk."""
    size = os.path.getsize(SHOP)
    limit = size + (96 << 10)
    desk = Desk()
    desk.start(preexec_fn=lambda: (signal.signal(signal.SIGXFSZ, signal.SIG_IGN),
                                   resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))))
    caller = Caller(desk)
    kept = []
    photo = base64.b64encode(PIXEL + os.urandom(60000)).decode()
    refused = None
    for i in range(400):
        status, answer = caller.ask("POST", "/api/bench/add", {"job": "first", "rows": [
            {"table": "bench_photo", "row": {"photo": f"full-{i}", "module": "PNL"},
             "data": base64.b64encode(PIXEL + os.urandom(20000)).decode() if i else photo}]})
        if status != 200:
            refused = answer
            break
        kept.append(f"full-{i}")
    expect(refused is not None, "the disk is never full")
    expect("nothing was changed" in refused["error"] and "shop" in refused["error"], refused)
    status, answer = caller.ask("GET", "/api/bench/kept?job=first")
    expect(status == 200, "it can still be read")
    there = {row["photo"] for row in answer["bench_photo"]}
    expect(there == set(kept), (len(there), len(kept)))
    expect(desk.process.poll() is None, "the desk still runs")
    desk.kill()
    whole("a full disk")
    desk.start()  # there is room again
    status, answer = tick(Caller(desk), "room-again")
    expect(status == 200 and answer["kept"] == ["room-again"], answer)
    desk.kill()
    print(f"full disk after {len(kept)} photos: {refused['error']}")


def file_is_read_only():
    """Nothing may be written to the file from one moment to the next."""
    desk = Desk()
    desk.start()
    caller = Caller(desk)
    expect(tick(caller, "before")[0] == 200, "a tick")
    desk.kill()
    base = sqlite3.connect(SHOP)
    base.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    before = base.execute("SELECT count(*) FROM bench_tick").fetchone()
    base.close()
    for name in (SHOP + "-wal", SHOP + "-shm"):
        if os.path.exists(name):
            os.remove(name)
    if os.geteuid() == 0:  # modes mean nothing to root: give the program to somebody else
        os.chmod(FOLDER, 0o755)
        how = {"user": 65534, "group": 65534}
    else:
        os.chmod(FOLDER, 0o555)
        how = {}
    os.chmod(SHOP, 0o444)
    done = subprocess.run([MARLING, "serve", SHOP, "--port", "0"], capture_output=True, text=True,
                          timeout=20, **how)
    expect(done.returncode == 2 and "may not be written" in done.stderr,
           (done.returncode, done.stderr))
    os.chmod(SHOP, 0o644)
    os.chmod(FOLDER, 0o755)
    base = sqlite3.connect(SHOP)
    expect(base.execute("SELECT count(*) FROM bench_tick").fetchone() == before, "nothing is lost")
    base.close()
    whole("a read-only file")
    print("read-only file: " + done.stderr.strip())


def comes_out_and_goes_in():
    """Rows of the bench as CSV, photos as files, and both back into another job."""
    out = os.path.join(FOLDER, "out")
    expect(run("export", f"{SHOP}:first", "-o", out).returncode == 0, "export")
    photos = os.listdir(os.path.join(out, "photo"))
    expect(len(photos) > 0 and os.path.getsize(os.path.join(out, "bench_tick.csv")) > 1000, "files")
    expect(run("import", out, os.path.join(FOLDER, "other.db") + ":first").returncode == 0, "import")
    again = os.path.join(FOLDER, "again")
    expect(run("export", os.path.join(FOLDER, "other.db") + ":first", "-o", again).returncode == 0,
           "export of that")
    for name in os.listdir(out):
        if name.endswith(".csv"):
            expect(open(os.path.join(out, name), "rb").read() ==
                   open(os.path.join(again, name), "rb").read(), name + " has the same bytes")
    expect(sorted(os.listdir(os.path.join(again, "photo"))) == sorted(photos), "the same photos")
    # An import of the job as designed takes nothing away, an undo neither.
    base = sqlite3.connect(SHOP)
    before = base.execute("SELECT count(*) FROM bench_tick").fetchone()
    run("import", os.path.join(ROOT, "examples", "first"), f"{SHOP}:first")
    run("undo", f"{SHOP}:first")
    expect(base.execute("SELECT count(*) FROM bench_tick").fetchone() == before, "ticks stay")
    base.close()
    whole("in and out")


MARLING = os.path.abspath(sys.argv[1])
KILLS = int(sys.argv[2] if len(sys.argv) > 2 else os.environ.get("MARLING_KILLS", "40"))
FOLDER = tempfile.mkdtemp(prefix="marling-kills-")
SHOP = os.path.join(FOLDER, "shop.db")
LOCK = threading.Lock()
ENDING = threading.Event()
try:
    subprocess.run([MARLING, "import", os.path.join(ROOT, "examples", "first"), SHOP], check=True,
                   stderr=subprocess.DEVNULL)
    survives_kills(KILLS)
    disk_is_full()
    file_is_read_only()
    comes_out_and_goes_in()
finally:
    shutil.rmtree(FOLDER, ignore_errors=True)
