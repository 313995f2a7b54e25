"""Job folders for tests: a base folder copied and then edited, so that a case is a few lines.

An `edits` file has one edit a line (blank lines and lines from # on are left out), words as a shell
would split them:

    set TABLE COL=VALUE ... : COL=VALUE ...   changes the rows that match what stands before the colon
    drop TABLE COL=VALUE ...                  takes the rows that match out
    add TABLE COL=VALUE ...                   a new row; columns not named stay blank
    without TABLE                             the whole file goes
    folder TABLE                              a folder stands where the file stood
    clear TABLE                               the rows go, the head stays
    rename TABLE COLUMN NEW                   another name in the head

`set` and `drop` that match nothing are errors of the test. A table that has no file yet gets one.
"""
import csv
import io
import os
import shlex
import shutil


class EditError(Exception):
    pass


def read_table(path):
    with open(path, encoding="utf-8-sig", newline="") as file:
        rows = list(csv.reader(file))
    head = rows[0] if rows else []
    return head, [row + [""] * (len(head) - len(row)) for row in rows[1:]]


def write_table(path, head, rows):
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows(rows)
    with open(path, "w", encoding="utf-8", newline="") as file:
        file.write(out.getvalue())


def pairs(words):
    found = []
    for word in words:
        column, equals, value = word.partition("=")
        if not equals:
            raise EditError(f"'{word}' is not COLUMN=VALUE")
        found.append((column, value))
    return found


def matching(head, rows, conditions, line):
    for column, _ in conditions:
        if column not in head:
            raise EditError(f"{line}: no column '{column}'")
    hits = [row for row in rows
            if all(row[head.index(column)] == value for column, value in conditions)]
    if not hits:
        raise EditError(f"{line}: no row matches")
    return hits


def edit(job, line):
    words = shlex.split(line)
    verb, table, rest = words[0], words[1], words[2:]
    path = os.path.join(job, table + ".csv")
    if verb in ("without", "folder"):
        os.remove(path)
        if verb == "folder":
            os.mkdir(path)
        return
    head, rows = read_table(path) if os.path.exists(path) else ([], [])
    if verb == "set":
        colon = rest.index(":")
        changes = pairs(rest[colon + 1:])
        hits = matching(head, rows, pairs(rest[:colon]), line)
        for column, value in changes:
            if column not in head:
                head.append(column)
                for row in rows:
                    row.append("")
            for row in hits:
                row[head.index(column)] = value
    elif verb == "drop":
        hits = matching(head, rows, pairs(rest), line)
        rows = [row for row in rows if not any(row is hit for hit in hits)]
    elif verb == "add":
        values = pairs(rest)
        for column, _ in values:
            if column not in head:
                head.append(column)
                for row in rows:
                    row.append("")
        named = dict(values)
        rows.append([named.get(column, "") for column in head])
    elif verb == "clear":
        rows = []
    elif verb == "rename":
        head[head.index(rest[0])] = rest[1]
    else:
        raise EditError(f"{line}: no such edit")
    write_table(path, head, rows)


def make_job(root, case, job):
    """Makes the folder `job` from CASE/base (a folder named from `root`), then CASE/job/*.csv over
    it, then CASE/edits."""
    base = os.path.join(case, "base")
    if os.path.exists(base):
        with open(base, encoding="utf-8") as file:
            shutil.copytree(os.path.join(root, file.read().strip()), job)
    else:
        os.makedirs(job)
    tables = os.path.join(case, "job")
    if os.path.isdir(tables):
        for name in sorted(os.listdir(tables)):
            shutil.copy(os.path.join(tables, name), job)
    edits = os.path.join(case, "edits")
    if os.path.exists(edits):
        with open(edits, encoding="utf-8") as file:
            apply_edits(job, file)


def apply_edits(job, lines):
    for line in lines:
        line = line.strip()
        if line and not line.startswith("#"):
            edit(job, line)
