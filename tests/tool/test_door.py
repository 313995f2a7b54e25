#!/usr/bin/env python3
"""The desk beyond this machine, by TLS and for people: sessions and links
that are over or stolen, passwords tried again and again, hosts and origins that are forged, paths that lead
out, bodies without end, senders without haste.

    test_door.py MARLING [--quick]      quick: without waiting for slow senders
"""
import concurrent.futures
import http.client
import json
import os
import pty
import re
import shutil
import socket
import sqlite3
import ssl
import subprocess
import sys
import tempfile
import time
import warnings

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
MARLING = os.path.abspath(sys.argv[1])
FOLDER = tempfile.mkdtemp(prefix="marling-door-")
SHOP = os.path.join(FOLDER, "shop.db")
ENV = {**os.environ, "XDG_DATA_HOME": os.path.join(FOLDER, "data")}
JSON = {"Content-Type": "application/json"}
PASSWORDS = {"Ada": "four words of nonsense", "Bo": "other words of nonsense", "Cy": "more words of nonsense"}
ROLES = {"Ada": "designer", "Bo": "bench", "Cy": "buyer"}


def expect(good, what):
    if not good:
        sys.exit("not so: " + str(what))


def run(*words, text="", code=0):
    done = subprocess.run([MARLING, *words], input=text, capture_output=True, text=True, env=ENV)
    expect(done.returncode == code, (words, done.returncode, done.stderr))
    return done.stdout + done.stderr


def serve(*words):
    desk = subprocess.Popen([MARLING, "serve", SHOP, *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                            text=True, env=ENV)
    line = desk.stdout.readline()
    expect(line, "the desk begins")
    return desk, int(re.search(r":(\d+)/", line).group(1))


def ask(method, path, body=None, headers=None, source="127.0.0.1", name="127.0.0.1"):
    """Asks by TLS, with the authority's certificate as the only one that is trusted."""
    connection = http.client.HTTPSConnection(name, PORT, timeout=30, context=TRUST,
                                             source_address=(source, 0))
    connection.request(method, path, body, headers or {})
    answer = connection.getresponse()
    answer.text = answer.read()
    connection.close()
    return answer


def post(path, body, headers=None, source="127.0.0.1"):
    answer = ask("POST", path, json.dumps(body), {**JSON, **(headers or {})}, source)
    return answer.status, json.loads(answer.text), answer


def sign_in(name, password=None, source="127.0.0.1"):
    """The header of a new session."""
    status, _, answer = post("/api/sign-in", {"name": name, "password": password or PASSWORDS[name]},
                             source=source)
    expect(status == 200, (name, status, answer.text))
    return {"Cookie": answer.headers["Set-Cookie"].split(";")[0]}


def edit_shop(sql):
    db = sqlite3.connect(SHOP, timeout=20)
    with db:
        db.execute(sql)
    db.close()


# --- who may start -----------------------------------------------------------------------------


def wants_people_first():
    said = run("serve", SHOP, "--listen", "0.0.0.0:0", code=2)
    expect("admit" in said, said)
    run("admit", SHOP, "Bo", "bench", text="other words of nonsense\n")
    said = run("serve", SHOP, "--listen", "0.0.0.0:0", code=2)
    expect("admit" in said, "somebody at the bench alone is not enough")
    for text in ("short\n", "\n", "", "x" * 300 + "\n"):
        run("admit", SHOP, "Ada", "designer", text=text, code=2)
    run("admit", SHOP, "Ada", "boss", text="four words of nonsense\n", code=2)
    for name in ("Ada", "Cy"):
        run("admit", SHOP, name, ROLES[name], text=PASSWORDS[name] + "\n")
    run("dismiss", SHOP, "Ada", code=2)  # the last who could let anybody in
    for place in ("8.8.8.8", "somewhere", "127.0.0.1:x", "0.0.0.0:70000", "[::1", ""):
        run("serve", SHOP, "--listen", place, code=2)
    desk, port = serve("--listen", "127.0.0.1:0")
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    connection.request("GET", "/api/me")
    expect(json.loads(connection.getresponse().read())["role"] == "designer", "here nobody signs in")
    connection.close()
    desk.terminate()
    desk.wait(timeout=20)
    expect("none of the people" in desk.stderr.read(), "but the log should name one of them")


def has_a_usual_file():
    """Without a name the shop file is in the user's data folder; XDG Base Directory Specification 0.8."""
    for variables, folder in (({"XDG_DATA_HOME": os.path.join(FOLDER, "x")}, "x/marling"),
                              ({"XDG_DATA_HOME": "", "HOME": os.path.join(FOLDER, "h")}, "h/.local/share/marling"),
                              ({"XDG_DATA_HOME": "not/absolute", "HOME": os.path.join(FOLDER, "r")},
                               "r/.local/share/marling")):
        desk = subprocess.Popen([MARLING, "serve", "--port", "0"], stdout=subprocess.PIPE, text=True,
                                env={**ENV, **variables})
        path = os.path.join(FOLDER, folder, "shop.db")
        expect(path in desk.stdout.readline() and os.path.exists(path), path)
        desk.terminate()
        desk.wait(timeout=20)


def keeps_its_key_to_itself():
    path = os.path.join(FOLDER, "data", "marling", "authority.pem")
    expect(os.stat(path).st_mode & 0o777 == 0o600, "the key is for its owner alone")
    expect(os.stat(SHOP).st_mode & 0o077 == 0, "so is the shop file")
    os.chmod(path, 0o644)
    expect("chmod 600" in run("serve", SHOP, "--listen", "0.0.0.0:0", code=2), "or it is not used")
    os.chmod(path, 0o600)


# --- TLS ---------------------------------------------------------------------------------------


def is_known_by_its_authority():
    for name in ("127.0.0.1", "localhost", socket.gethostname().split(".")[0].lower() + ".local"):
        raw = socket.create_connection(("127.0.0.1", PORT), timeout=20)
        with TRUST.wrap_socket(raw, server_hostname=name) as secure:
            expect(secure.version() == "TLSv1.3", secure.version())
    for name in ("example.org", "10.1.2.3"):
        try:
            TRUST.wrap_socket(socket.create_connection(("127.0.0.1", PORT), timeout=20), server_hostname=name)
            expect(False, "another's name must not be believed")
        except ssl.SSLCertVerificationError as refused:
            expect("match" in str(refused), refused)
    try:
        ssl.create_default_context().wrap_socket(socket.create_connection(("127.0.0.1", PORT), timeout=20),
                                                 server_hostname="127.0.0.1")
        expect(False, "who does not know the authority must not believe it")
    except ssl.SSLCertVerificationError:
        pass
    old = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    old.check_hostname = False
    old.verify_mode = ssl.CERT_NONE
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        old.maximum_version = ssl.TLSVersion.TLSv1_1
    old.set_ciphers("DEFAULT:@SECLEVEL=0")
    try:
        old.wrap_socket(socket.create_connection(("127.0.0.1", PORT), timeout=20))
        expect(False, "TLS 1.1 must be refused")
    except (ssl.SSLError, ConnectionError):
        pass
    plain = socket.create_connection(("127.0.0.1", PORT), timeout=20)
    plain.sendall(b"GET /api/shop HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
    try:
        expect(b"jobs" not in plain.recv(4096), "nothing is said in the clear")
    except ConnectionError:
        pass
    plain.close()


# --- square codes ------------------------------------------------------------------------------


def read_code(dark, side):
    """What another program reads in a square code: `dark` has the (x, y) of its dark modules."""
    scale = 4
    path = os.path.join(FOLDER, "code.pgm")
    rows = []
    for y in range(side * scale):
        rows.append(bytes(0 if (x // scale, y // scale) in dark else 255 for x in range(side * scale)))
    with open(path, "wb") as file:
        file.write(b"P5 %d %d 255\n" % (side * scale, side * scale) + b"".join(rows))
    done = subprocess.run(["zbarimg", "--quiet", "--raw", path], capture_output=True, text=True)
    return done.stdout.strip()


def shows_where_to_go_as_a_code():
    page = ask("GET", "/trust").text.decode()
    side = int(re.search(r'viewBox="0 0 (\d+)', page).group(1))
    dark = {(int(x), int(y)) for x, y in re.findall(r"M(\d+) (\d+)h1v1h-1z", page)}
    url = re.search(r'<a href="(https://[^"]+)"', page).group(1)
    expect(read_code(dark, side) == url + "trust", (read_code(dark, side), url))
    for word in TOLD.split("in words: ")[1].split():
        expect(word in page, "the page shows the words that the terminal shows")
    # The terminal, which is one here: blocks of two modules, light ones drawn.
    master, slave = pty.openpty()
    desk = subprocess.Popen([MARLING, "serve", SHOP, "--listen", "0.0.0.0:0"], stdout=slave, env=ENV)
    os.close(slave)
    shown = b""
    while b"in words" not in shown:
        shown += os.read(master, 4096)
    desk.terminate()
    desk.wait(timeout=20)
    os.close(master)
    lines = [line for line in shown.decode().split("\r\n") if line and set(line) <= set("\u2588\u2580\u2584 ")]
    dark = set()
    for y, line in enumerate(lines):
        for x, block in enumerate(line):
            dark |= {(x, 2 * y)} if block in "\u2584 " else set()
            dark |= {(x, 2 * y + 1)} if block in "\u2580 " else set()
    url = re.search(r"https://\S+/trust", shown.decode()).group(0)
    expect(read_code(dark, len(lines[0])) == url, (lines, url))


# --- streams and links --------------------------------------------------------------------------


def link_token(job=1, lasts_s=3600):
    """A link as the store makes it: random bytes, of which the file keeps the SHA-256."""
    import base64
    import hashlib
    token = base64.urlsafe_b64encode(os.urandom(32)).rstrip(b"=").decode()
    digest = hashlib.sha256(token.encode()).hexdigest()
    now = int(time.time())
    edit_shop("INSERT INTO shop_link(hash, job, subject, person, what, made_s, ends_s, used_s, ended) VALUES "
              f"(x'{digest}', {job}, 'brief', 'Ada', 'test', {now}, {now + lasts_s}, 0, 0)")
    return token


def streams_are_for_staff():
    for name in ROLES:
        connection = http.client.HTTPSConnection("127.0.0.1", PORT, timeout=20, context=TRUST)
        connection.request("GET", "/api/events", headers=sign_in(name))
        answer = connection.getresponse()
        expect(answer.status == 200 and answer.fp.readline() is not None, name)
        connection.close()
    expect(ask("GET", "/api/events").status == 401, "nobody")
    expect(ask("GET", "/api/events", headers={"Marling-Link": link_token()}).status == 401, "a customer")


def customers_see_one_job():
    mine = {"Marling-Link": link_token(1)}
    me = json.loads(ask("GET", "/api/me", headers=mine).text)
    expect(me["role"] == "customer" and me["subject"] == "brief", me)
    # With a designer's session beside it, the link still counts.
    both = {**mine, **sign_in("Ada")}
    expect(ask("GET", "/api/table?job=first&table=unit", headers=both).status == 403, "the lesser right counts")
    for headers in ({"Marling-Link": link_token(1, -1)}, {"Marling-Link": "x" * 43}, {"Marling-Link": ""},
                    {"Marling-Link": "'; DROP TABLE shop_link; --" + "x" * 16}):
        expect(json.loads(ask("GET", "/api/me", headers=headers).text)["role"] == "", headers)
        expect(ask("GET", "/api/shop", headers=headers).status == 401, headers)
    edit_shop("UPDATE shop_link SET ended = 1")
    expect(json.loads(ask("GET", "/api/me", headers=mine).text)["role"] == "", "taken back")


# --- sessions ----------------------------------------------------------------------------------


def sessions_end():
    ada = sign_in("Ada")
    answer = ask("POST", "/api/sign-in", json.dumps({"name": "Bo", "password": PASSWORDS["Bo"]}), JSON)
    cookie = answer.headers["Set-Cookie"]
    for word in ("__Host-", "Secure", "HttpOnly", "SameSite=Strict", "Path=/"):
        expect(word in cookie, cookie)
    bo = {"Cookie": cookie.split(";")[0]}
    expect(ask("GET", "/api/shop", headers=bo).status == 200, "in")
    forged = bo["Cookie"][:-1] + ("A" if bo["Cookie"][-1] != "A" else "B")
    for bad in (forged, bo["Cookie"] + "x", bo["Cookie"].split("=")[0] + "=", "marling=1"):
        expect(ask("GET", "/api/shop", headers={"Cookie": bad}).status == 401, bad)
    # The file itself gives no session away: what is kept of one opens nothing.
    db = sqlite3.connect(SHOP)
    kept = [row[0] for row in db.execute("SELECT hash FROM shop_session")]
    db.close()
    import base64
    for one in kept:
        stolen = base64.urlsafe_b64encode(one).rstrip(b"=").decode()
        headers = {"Cookie": bo["Cookie"].split("=")[0] + "=" + stolen}
        expect(ask("GET", "/api/shop", headers=headers).status == 401, "a hash is no token")
    # Signing in again, out, or being dismissed ends a session; a stream with it, at once.
    again = ask("POST", "/api/sign-in", json.dumps({"name": "Bo", "password": PASSWORDS["Bo"]}), {**JSON, **bo})
    expect(ask("GET", "/api/shop", headers=bo).status == 401, "the one before has ended")
    bo = {"Cookie": again.headers["Set-Cookie"].split(";")[0]}
    connection = http.client.HTTPSConnection("127.0.0.1", PORT, timeout=30, context=TRUST)
    connection.request("GET", "/api/events", headers=bo)
    stream = connection.getresponse()
    stream.fp.readline()
    began = time.monotonic()
    expect(post("/api/people/dismiss", {"name": "Bo"}, ada)[0] == 200, "dismissed")
    while stream.fp.readline() not in (b"0\r\n", b""):
        pass
    expect(time.monotonic() - began < 5, "the stream ends at once")
    connection.close()
    expect(ask("GET", "/api/shop", headers=bo).status == 401, "dismissed")
    status, _, _ = post("/api/sign-in", {"name": "Bo", "password": PASSWORDS["Bo"]}, source="127.0.0.9")
    expect(status == 401, "who left does not come in")
    run("admit", SHOP, "Bo", "bench", text=PASSWORDS["Bo"] + "\n")
    # Idle too long, too old.
    for sql in ("UPDATE shop_session SET used_s = used_s - 12 * 3600 - 5",
                "UPDATE shop_session SET made_s = made_s - 7 * 24 * 3600 - 5"):
        ada = sign_in("Ada")
        expect(ask("GET", "/api/shop", headers=ada).status == 200, "in")
        edit_shop(sql)
        expect(ask("GET", "/api/shop", headers=ada).status == 401, sql)
    # A new password ends all sessions but the one that it was changed in, whose token is another.
    first, second = sign_in("Cy"), sign_in("Cy")
    expect(post("/api/password", {"now": "wrong words here", "next": "x" * 12}, first)[0] == 401, "wrong")
    expect(post("/api/password", {"now": PASSWORDS["Cy"], "next": "short"}, first)[0] == 422, "too short")
    status, _, answer = post("/api/password", {"now": PASSWORDS["Cy"], "next": "quite other words"}, first)
    expect(status == 200, answer.text)
    PASSWORDS["Cy"] = "quite other words"
    for old in (first, second):
        expect(ask("GET", "/api/shop", headers=old).status == 401, "ended")
    expect(ask("GET", "/api/shop", headers={"Cookie": answer.headers["Set-Cookie"].split(";")[0]}).status == 200,
           "goes on")
    cy = sign_in("Cy")
    out = post("/api/sign-out", {}, cy)
    expect(out[0] == 200 and "Max-Age=0" in out[2].headers["Set-Cookie"], out)
    expect(ask("GET", "/api/shop", headers=cy).status == 401, "out")


def passwords_can_not_be_guessed():
    answers = [post("/api/sign-in", {"name": "Ada", "password": f"guess number {i}"}, source="127.0.0.20")
               for i in range(9)]
    codes = [status for status, _, _ in answers]
    expect(codes[:5] == [401] * 5 and 429 in codes, codes)
    late = answers[codes.index(429)]
    expect(late[1]["wait_s"] >= 1 and int(late[2].headers["Retry-After"]) == late[1]["wait_s"], late[1])
    # Not even the right one now; nor for this name from elsewhere; but another from elsewhere is let in.
    status, _, _ = post("/api/sign-in", {"name": "Ada", "password": PASSWORDS["Ada"]}, source="127.0.0.20")
    expect(status == 429, status)
    status, _, _ = post("/api/sign-in", {"name": "aDA", "password": PASSWORDS["Ada"]}, source="127.0.0.21")
    expect(status == 429, "the same name in other letters")
    status, _, _ = post("/api/sign-in", {"name": "Cy", "password": PASSWORDS["Cy"]}, source="127.0.0.20")
    expect(status == 429, "the same address with another name")
    sign_in("Cy", source="127.0.0.22")
    # Many at once do not get round it.
    with concurrent.futures.ThreadPoolExecutor(20) as pool:
        codes = list(pool.map(lambda i: post("/api/sign-in", {"name": "Cy", "password": f"many at once {i}"},
                                             source="127.0.0.30")[0], range(40)))
    expect(codes.count(401) <= 6 and codes.count(429) == 40 - codes.count(401), codes)
    log = run("door", SHOP)
    expect("too many tries" in log and "127.0.0.20" in log and "guess number" not in log, log[:500])
    # The waits double: after a while what was tried is waited for, and then it goes on.
    time.sleep(4)


def names_can_not_be_told():
    """An unknown name is refused in the same words, and in about the same time: medians of seven each,
    in turns, each with a name and an address of its own so that nobody has to wait."""
    times = {"Cy": [], "Nobody": []}
    words = set()
    run("admit", SHOP, "Timed", "buyer", text="words to be timed\n")
    for i in range(7):
        for name in times:
            asked = "Timed" if name == "Cy" else f"Nobody {i}"
            began = time.perf_counter()
            status, answer, _ = post("/api/sign-in", {"name": asked, "password": f"not this one {i}"},
                                     source=f"127.0.1.{10 + i}")
            if status == 401:
                times[name].append(time.perf_counter() - began)
                words.add(json.dumps(answer))
    expect(len(words) == 1 and len(times["Cy"]) >= 4, (words, times))
    middle = {name: sorted(one)[len(one) // 2] for name, one in times.items()}
    expect(0.4 < middle["Cy"] / middle["Nobody"] < 2.5, middle)


# --- strangers ---------------------------------------------------------------------------------


def keeps_strangers_out():
    ada = sign_in("Ada", source="127.0.0.40")
    ours = f"127.0.0.1:{PORT}"
    for headers, status in (({"Host": "desk.example:80"}, 403), ({"Host": f"example.org:{PORT}"}, 403),
                            ({"Host": "127.0.0.1"}, 403), ({"Host": f"127.0.0.1.example.org:{PORT}"}, 403),
                            ({"Origin": "https://other.example"}, 403), ({"Origin": "null"}, 403),
                            ({"Origin": f"http://{ours}"}, 403), ({"Origin": f"https://{ours}.example.org"}, 403),
                            ({"Sec-Fetch-Site": "cross-site"}, 403), ({"Sec-Fetch-Site": "same-site"}, 403),
                            ({"Content-Type": "text/plain"}, 415),
                            ({"Content-Type": "application/x-www-form-urlencoded"}, 415),
                            ({"Origin": f"https://{ours}", "Sec-Fetch-Site": "same-origin"}, 200)):
        answer = ask("POST", "/api/undo", '{"job":"first"}', {**JSON, **ada, **headers})
        expect(answer.status == status, (headers, answer.status, answer.text))
    expect(post("/api/redo", {"job": "first"}, ada)[0] == 200, "as it was")
    name = socket.gethostname().split(".")[0].lower() + ".local"
    expect(ask("GET", "/api/me", headers={"Host": f"{name.upper()}:{PORT}"}).status == 200, "a name it has")
    for path in ("/../shop.db", "/%2e%2e/%2e%2e/shop.db", "//etc/passwd", "/api/../../etc/passwd", "/shop.db",
                 "/app.js/../../shop.db", "/authority.pem", "/..%2fauthority.pem", "/api/table%00?job=first",
                 "/%c0%ae%c0%ae/etc/passwd", "/authority.crt/../authority.pem", "/trust/..%5c..%5cshop.db",
                 "/api/table?job=..%2f..%2fetc%2fpasswd&table=unit", "/api/sheet?job=first&sheet=..%2fx",
                 f"/{SHOP}", "/proc/self/environ"):
        answer = ask("GET", path, headers=ada)
        expect(answer.status in (400, 403, 404) and b"SQLite" not in answer.text and b"root:" not in answer.text
               and b"PRIVATE" not in answer.text, (path, answer.status, answer.text[:100]))
    for table in ("shop_person", "shop_session", "shop_link", "shop_door", "sqlite_schema"):
        expect(ask("GET", f"/api/table?job=first&table={table}", headers=ada).status == 404, table)
    everything = ask("GET", "/api/people", headers=ada).text
    expect(b"argon2" not in everything and b"hash" not in everything, "no hash leaves the desk")
    out = os.path.join(FOLDER, "out")
    run("export", SHOP + ":first", "-o", out)
    for name in os.listdir(out):
        expect(b"argon2" not in open(os.path.join(out, name), "rb").read(), name)


def secure_socket(source="127.0.0.1"):
    raw = socket.create_connection(("127.0.0.1", PORT), timeout=100, source_address=(source, 0))
    return TRUST.wrap_socket(raw, server_hostname="127.0.0.1")


def ends_within(connection, send, seconds):
    """Sends a byte each half second until it is cut off; how long that took."""
    began = time.monotonic()
    connection.settimeout(0.5)
    while time.monotonic() - began < seconds:
        try:
            connection.sendall(send)
            if connection.recv(1000) == b"":
                return time.monotonic() - began
        except TimeoutError:
            continue
        except OSError:
            return time.monotonic() - began
    return None


def large_bodies_are_refused():
    connection = secure_socket()
    head = f"POST /api/sign-in HTTP/1.1\r\nHost: 127.0.0.1:{PORT}\r\nContent-Type: application/json\r\n"
    connection.sendall((head + f"Content-Length: {9 << 20}\r\n\r\n").encode())
    try:
        for _ in range(9 << 4):
            connection.sendall(b"x" * (1 << 16))
    except OSError:
        pass
    try:
        expect(b" 413 " in connection.recv(400).split(b"\r\n")[0], "413")
    except OSError:
        pass
    connection.close()
    connection = secure_socket()
    try:
        connection.sendall(b"GET / HTTP/1.1\r\nHost: " + b"a" * (1 << 20) + b"\r\n\r\n")
        expect(b" 200 " not in connection.recv(400).split(b"\r\n")[0], "an endless head")
    except OSError:
        pass
    connection.close()
    words = json.dumps({"name": "Ada", "password": "x" * 100000})
    answer = ask("POST", "/api/sign-in", words, JSON)
    expect(answer.status == 413, "of strangers not even a tenth of a megabyte is taken")
    answer = ask("POST", "/api/sign-in", words, {**JSON, **sign_in("Ada")})
    expect(answer.status == 400, "who is known may send it, and is told what is wrong with it")
    chunked = secure_socket()
    chunked.sendall((head + "Transfer-Encoding: chunked\r\n\r\n").encode())
    try:
        for _ in range(80):
            chunked.sendall(b"10000\r\n" + b"x" * 0x10000 + b"\r\n")
        chunked.sendall(b"0\r\n\r\n")
        expect(b" 413 " in chunked.recv(400).split(b"\r\n")[0], "413 without a length")
    except OSError:
        pass
    chunked.close()


def slow_senders_are_cut_off():
    """One byte each half second is no silence; still each ends in bounded time. All kinds at once."""
    post_head = (f"POST /api/sign-in HTTP/1.1\r\nHost: 127.0.0.1:{PORT}\r\n"
                 "Content-Type: application/json\r\nContent-Length: 100000\r\n\r\n").encode()
    in_head, in_body, silent = secure_socket(), secure_socket(), secure_socket()
    no_handshake = socket.create_connection(("127.0.0.1", PORT), timeout=100)
    in_head.sendall(b"GET /api/me HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: ")
    in_body.sendall(post_head)
    with concurrent.futures.ThreadPoolExecutor(5) as pool:
        head = pool.submit(ends_within, in_head, b"x", 45)
        body = pool.submit(ends_within, in_body, b"x", 75)
        quiet = pool.submit(ends_within, silent, b"", 45)
        shake = pool.submit(ends_within, no_handshake, b"\x16", 45)
        expect(ask("GET", "/api/me").status == 200, "others are answered meanwhile")
        took = [head.result(), body.result(), quiet.result(), shake.result()]
    expect(all(one is not None for one in took) and took[0] < 40 and took[1] < 70, took)
    print("slow senders are cut off after %.0f s (head), %.0f s (body), %.0f s (silent), %.0f s (handshake)"
          % tuple(took))


def connections_are_counted():
    """One address does not get all connections."""
    many = []
    for _ in range(80):
        try:
            many.append(socket.create_connection(("127.0.0.1", PORT), timeout=5, source_address=("127.0.0.77", 0)))
        except OSError:
            pass
    time.sleep(0.5)
    alive = 0
    for one in many:
        one.settimeout(0.05)
        try:
            alive += one.recv(1) != b""
        except TimeoutError:
            alive += 1
        except OSError:
            pass
    expect(alive <= 48, f"{alive} connections from one address")
    expect(ask("GET", "/api/me", source="127.0.0.78").status == 200, "others have room")
    for one in many:
        one.close()
    print(f"{alive} of 80 connections from one address are kept")


def tells_what_was_tried():
    ada = sign_in("Ada", source="127.0.0.50")
    bo = sign_in("Bo", source="127.0.0.51")
    for _ in range(2):
        expect(post("/api/people/dismiss", {"name": "Ada"}, bo, "127.0.0.51")[0] == 403, "not Bo's to do")
    visits = json.loads(ask("GET", "/api/door", headers=ada).text)["visits"]
    found = [one for one in visits if one["kind"] == "not theirs" and one["person"] == "Bo"]
    expect(found and found[0]["what"] == "/api/people/dismiss" and found[0]["address"] == "127.0.0.51", visits[:5])
    expect("/api/people/dismiss" in run("door", SHOP), "also on the command line")
    expect(ask("GET", "/api/door", headers=bo).status == 403, "but not to Bo")


def streams_go_on_by_tls():
    """Forty streams on four threads, told of forty changes: each gets every one, and in order."""
    ada = sign_in("Ada", source="127.0.0.60")
    rows = json.loads(ask("GET", "/api/table?job=first&table=unit", headers=ada).text)["rows"]
    began = []
    for i in range(40):
        connection = http.client.HTTPSConnection("127.0.0.1", PORT, timeout=60, context=TRUST,
                                                 source_address=(f"127.0.0.{61 + i % 4}", 0))
        connection.request("GET", "/api/events", headers=ada)
        began.append((connection, connection.getresponse()))
        began[-1][1].fp.readline()
    acts = []
    for i in range(40):
        change = {"table": "unit", "before": {"tag": rows[0]["tag"]}, "after": {**rows[0], "stub_mm": 100 + i}}
        status, answer, _ = post("/api/edit", {"job": "first", "what": "test", "edits": [change]}, ada)
        expect(status == 200, answer)
        acts.append(answer["act"])
    for connection, stream in began:
        got = []
        while len(got) < len(acts):
            line = stream.fp.readline()
            expect(line, f"a stream ended after {len(got)}")
            if line.startswith(b"data:"):
                act = json.loads(line[5:])["act"]
                got += [act] if act > 0 else []
        expect(got == acts, (got, acts))
        connection.close()


for example in ("first",):
    run("import", os.path.join(ROOT, "examples", example), SHOP)
wants_people_first()
has_a_usual_file()
DESK, PORT = serve("--listen", "0.0.0.0:0")
try:
    TOLD = greeting = DESK.stdout.readline() + DESK.stdout.readline() + DESK.stdout.readline() + DESK.stdout.readline()
    blind = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    blind.check_hostname = False
    blind.verify_mode = ssl.CERT_NONE
    fetch = http.client.HTTPSConnection("127.0.0.1", PORT, timeout=20, context=blind)
    fetch.request("GET", "/authority.crt")
    authority = fetch.getresponse().read()
    fetch.close()
    import hashlib
    fingerprint = hashlib.sha256(authority).hexdigest().upper()
    expect(":".join(re.findall("..", fingerprint)) in greeting, "the terminal shows the fingerprint")
    TRUST = ssl.create_default_context(cadata=authority)
    keeps_its_key_to_itself()
    is_known_by_its_authority()
    shows_where_to_go_as_a_code()
    streams_are_for_staff()
    customers_see_one_job()
    sessions_end()
    keeps_strangers_out()
    large_bodies_are_refused()
    streams_go_on_by_tls()
    tells_what_was_tried()
    names_can_not_be_told()
    connections_are_counted()
    passwords_can_not_be_guessed()
    if "--quick" not in sys.argv:
        slow_senders_are_cut_off()
    expect(DESK.poll() is None, "the desk still runs")
    DESK.terminate()
    expect(DESK.wait(timeout=60) == 0, "it ends when it is told to: " + DESK.stderr.read()[:4000])
    run("check-shop", SHOP)
finally:
    DESK.kill()
    shutil.rmtree(FOLDER)
print("the door holds")
