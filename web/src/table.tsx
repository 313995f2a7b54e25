// A table as a grid: only the rows in sight are on the page, so that a hundred thousand scroll as
// ten do. Values are typed as on paper ("2 ft"); what can't be taken is said in the cell.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { api, Refused, type Cell, type Column, type Row, type Rows, type Table } from "./api";
import { attempt, changes, current_job, link, message, place, selected, tables } from "./state";
import { Why } from "./why";

const ROW_PX = 44; // a gloved finger
const OVERSCAN = 6;

function shown(value: Cell | undefined): string {
  return value === null || value === undefined
    ? ""
    : value === true
      ? "yes"
      : value === false
        ? "no"
        : String(value);
}

function compare(a: Cell | undefined, b: Cell | undefined): number {
  if (typeof a === "number" && typeof b === "number") {
    return a - b;
  }
  return shown(a).localeCompare(shown(b), "en", { numeric: true });
}

function as_texts(row: Row): Record<string, string> {
  return Object.fromEntries(Object.entries(row).map(([name, value]) => [name, shown(value)]));
}

function key_of(table: Table, row: Row): Row {
  return Object.fromEntries(
    table.columns.filter((column) => column.key).map((column) => [column.name, row[column.name] ?? null]),
  );
}

interface Editing {
  row: number; // in the order as read; -1: a new row
  column: string;
  text: string;
  problem: string;
}

function width_of(column: Column, rows: Row[]): number {
  let longest = column.name.length + column.unit.length + 1;
  for (let i = 0; i < rows.length; i += Math.max(1, Math.floor(rows.length / 200))) {
    longest = Math.max(longest, shown(rows[i]?.[column.name]).length);
  }
  return Math.min(46, longest) * 8.4 + 20;
}

function Grid({ job, table, data }: { job: string; table: Table; data: Rows }) {
  const [sort, set_sort] = useState<{ column: string; down: boolean } | null>(null);
  const [filter, set_filter] = useState("");
  const [top, set_top] = useState(0);
  const [height, set_height] = useState(600);
  const [editing, set_editing] = useState<Editing | null>(null);
  const frame = useRef<HTMLDivElement>(null);
  const saving = useRef(false);
  const kept = table.group !== "result";
  const columns = table.columns;
  const widths = useMemo(() => columns.map((column) => width_of(column, data.rows)), [data, columns]);
  const order = useMemo(() => {
    const words = filter.toLowerCase();
    const indices = data.rows
      .map((_, index) => index)
      .filter(
        (index) =>
          words === "" ||
          columns.some((column) => shown(data.rows[index]?.[column.name]).toLowerCase().includes(words)),
      );
    if (sort) {
      const sign = sort.down ? -1 : 1;
      indices.sort(
        (a, b) => sign * compare(data.rows[a]?.[sort.column], data.rows[b]?.[sort.column]) || a - b,
      );
    }
    return indices;
  }, [data, sort, filter, columns]);

  useEffect(() => {
    const measure = () => set_height(frame.current?.clientHeight ?? 600);
    measure();
    addEventListener("resize", measure);
    return () => removeEventListener("resize", measure);
  }, []);

  const save = async () => {
    if (!editing || saving.current || editing.problem !== "") {
      return;
    }
    saving.current = true; // Enter also takes the focus away, which saves
    await send(editing);
    saving.current = false;
  };
  const send = async (editing: Editing) => {
    const row = data.rows[editing.row];
    const fresh = editing.row === -1;
    const target = table.group === "library" ? "library" : job;
    const after = fresh ? {} : as_texts(row ?? {});
    if (!fresh && shown(row?.[editing.column]) === editing.text) {
      set_editing(null);
      return;
    }
    after[editing.column] = editing.text;
    const seen = data.acts?.[editing.row];
    try {
      await api.edit(target, `${table.name}: ${editing.column} = ${editing.text}`, [
        {
          table: table.name,
          after,
          ...(row ? { before: key_of(table, row) } : {}),
          ...(seen === undefined ? {} : { seen }),
        },
      ]);
      set_editing(null);
    } catch (error) {
      if (!(error instanceof Refused)) {
        throw error;
      }
      const { cells, person, at, column } = error.refusal;
      set_editing({
        ...editing,
        problem: cells?.[0]
          ? `wanted: ${cells[0].expected}`
          : error.message + (person ? ` (${person}, ${at})` : "") + (column ? `: ${column}` : ""),
      });
    }
  };
  const drop = async (index: number) => {
    const row = data.rows[index];
    if (row) {
      const seen = data.acts?.[index];
      await attempt(() =>
        api.edit(table.group === "library" ? "library" : job, `${table.name}: row dropped`, [
          { table: table.name, before: key_of(table, row), ...(seen === undefined ? {} : { seen }) },
        ]),
      );
    }
  };
  const copy = async () => {
    const lines = [columns.map((column) => column.name), ...order.map((index) =>
      columns.map((column) => shown(data.rows[index]?.[column.name]).replaceAll(/[\t\n]/g, " ")),
    )];
    await navigator.clipboard.writeText(lines.map((line) => line.join("\t")).join("\n"));
    message.value = `${order.length} rows copied: paste them into a spreadsheet`;
  };
  const paste = async (event: ClipboardEvent) => {
    const text = event.clipboardData?.getData("text/plain") ?? "";
    if (!kept || !text.includes("\t")) {
      return;
    }
    event.preventDefault();
    const lines = text.replace(/\r/g, "").split("\n").filter((line) => line !== "");
    const head = lines[0]?.split("\t") ?? [];
    const named = head.every((name) => columns.some((column) => column.name === name));
    const names = named ? head : columns.map((column) => column.name);
    const there = new Map(data.rows.map((row, index) => [JSON.stringify(Object.values(key_of(table, row)).map(shown)), index]));
    const edits = lines.slice(named ? 1 : 0).map((line) => {
      const typed = Object.fromEntries(line.split("\t").map((cell, i) => [names[i] ?? `cell ${i + 1}`, cell]));
      const key = JSON.stringify(columns.filter((column) => column.key).map((column) => typed[column.name] ?? ""));
      const index = there.get(key);
      const row = index === undefined ? undefined : data.rows[index];
      return {
        table: table.name,
        after: { ...(row ? as_texts(row) : {}), ...typed },
        ...(row ? { before: key_of(table, row) } : {}),
      };
    });
    const done = await attempt(() =>
      api.edit(table.group === "library" ? "library" : job, `${table.name}: ${edits.length} rows pasted`, edits),
    );
    if (done) {
      message.value = `${edits.length} rows taken; undo takes them back`;
    }
  };

  const first = Math.max(0, Math.floor(top / ROW_PX) - OVERSCAN);
  const last = Math.min(order.length, Math.ceil((top + height) / ROW_PX) + OVERSCAN);
  const sight: number[] = order.slice(first, last);
  return (
    <div class="grid" onPaste={(event) => void paste(event)}>
      <header>
        <h1>{table.name}</h1>
        <p>{table.meaning}</p>
        <input
          value={filter}
          placeholder="only rows with ..."
          aria-label="Only rows with"
          onInput={(event) => set_filter(event.currentTarget.value)}
        />
        <span class="quiet">
          {order.length} of {data.rows.length}
        </span>
        <button type="button" onClick={() => void copy()}>
          copy
        </button>
      </header>
      <div
        class="frame"
        ref={frame}
        tabIndex={0}
        role="grid"
        aria-rowcount={order.length}
        onScroll={(event) => set_top(event.currentTarget.scrollTop)}
      >
        <div class="head" role="row">
          {columns.map((column, i) => (
            <button
              type="button"
              role="columnheader"
              key={column.name}
              ref={(element) => element?.style.setProperty("width", `${widths[i]}px`)}
              title={column.meaning}
              aria-sort={sort?.column === column.name ? (sort.down ? "descending" : "ascending") : "none"}
              onClick={() =>
                set_sort({ column: column.name, down: sort?.column === column.name && !sort.down })
              }
            >
              {column.name}
              {column.key && " *"}
              {sort?.column === column.name && (sort.down ? " ↓" : " ↑")}
            </button>
          ))}
        </div>
        <div
          class="body"
          ref={(element) => element?.style.setProperty("height", `${order.length * ROW_PX}px`)}
        >
          {sight.map((index, i) => {
            const row = data.rows[index] ?? {};
            const name = shown(row[columns[0]?.name ?? ""]);
            return (
              <div
                class={`row${name === selected.value ? " lit" : ""}`}
                role="row"
                key={index}
                ref={(element) =>
                  element?.style.setProperty("transform", `translateY(${(first + i) * ROW_PX}px)`)
                }
              >
                {columns.map((column, c) => (
                  <div
                    class={`cell ${column.kind}`}
                    role="gridcell"
                    key={column.name}
                    tabIndex={-1}
                    ref={(element) => element?.style.setProperty("width", `${widths[c]}px`)}
                    onClick={() => {
                      selected.value = name;
                    }}
                    onDblClick={() => {
                      if (kept) {
                        set_editing({ row: index, column: column.name, text: shown(row[column.name]), problem: "" });
                      }
                    }}
                  >
                    {editing?.row === index && editing.column === column.name ? (
                      <CellEditor editing={editing} column={column} set={set_editing} save={save} />
                    ) : (
                      shown(row[column.name])
                    )}
                  </div>
                ))}
                {kept && (
                  <div role="gridcell">
                    <button type="button" class="drop" onClick={() => void drop(index)} aria-label={`drop ${name}`}>
                      drop
                    </button>
                  </div>
                )}
              </div>
            );
          })}
        </div>
      </div>
    </div>
  );
}

function CellEditor(props: {
  editing: Editing;
  column: Column;
  set: (editing: Editing | null) => void;
  save: () => Promise<void>;
}) {
  const { editing, column, set, save } = props;
  const [names, set_names] = useState<string[]>(column.kind === "word" ? (column.extra ?? "").split("|") : []);
  const job = current_job.value;
  useEffect(() => {
    if (column.kind !== "ref" || !column.extra) {
      return;
    }
    const target = tables.value.find((table) => table.name === column.extra);
    const key = target?.columns[0]?.name;
    void attempt(() => api.table(job, column.extra ?? "")).then((answer) => {
      set_names((answer?.rows ?? []).map((row) => shown(row[key ?? ""])));
    });
  }, [column.name]);
  return (
    <span class="editor">
      <input
        autoFocus
        value={editing.text}
        list="names"
        aria-invalid={editing.problem !== ""}
        aria-label={`${column.name}: ${column.meaning}`}
        ref={(element) => element?.focus()}
        onInput={(event) => set({ ...editing, text: event.currentTarget.value, problem: "" })}
        onBlur={() => void save()}
        onKeyDown={(event) => {
          event.stopPropagation();
          if (event.key === "Enter") {
            void save();
          } else if (event.key === "Escape") {
            set(null);
          }
        }}
      />
      <datalist id="names">
        {names.map((name) => (
          <option key={name} value={name} />
        ))}
      </datalist>
      {editing.problem !== "" && <em role="alert">{editing.problem}</em>}
    </span>
  );
}

function TableList() {
  const job = current_job.value;
  const groups = [
    ["job", "What the job holds"],
    ["library", "What the library holds"],
    ["result", "What is derived"],
  ] as const;
  return (
    <div class="plain">
      {groups.map(([group, words]) => (
        <section key={group}>
          <h1>{words}</h1>
          <ul class="sheets">
            {tables.value
              .filter((table) => table.group === group)
              .map((table) => (
                <li key={table.name}>
                  <a href={link(job, "table", table.name)}>
                    <strong>{table.name}</strong>
                    <small>{table.meaning}</small>
                  </a>
                </li>
              ))}
          </ul>
        </section>
      ))}
    </div>
  );
}

export function TablePage() {
  const { job, name } = place.value;
  const table = tables.value.find((candidate) => candidate.name === name);
  const [data, set_data] = useState<Rows | null>(null);
  const round = changes.value;
  useEffect(() => set_data(null), [job, name]);
  useEffect(() => {
    let current = true;
    if (table) {
      void attempt(() => api.table(job, table.name)).then((answer) => {
        if (current && answer) {
          set_data(answer);
        }
      });
    }
    return () => {
      current = false;
    };
  }, [job, table, round]);
  if (!table) {
    return <TableList />;
  }
  const key = selected.value;
  return (
    <>
      {data ? <Grid job={job} table={table} data={data} /> : <p class="plain">Reading {name} ...</p>}
      {key !== "" && table.group !== "library" && <Why job={job} name={key} />}
    </>
  );
}
