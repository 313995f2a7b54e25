// A table as a grid: only the rows in sight are on the page, so that a hundred thousand scroll as
// ten do. Values are typed as on paper ("2 ft"); what can't be taken is said in the cell. Cells are
// gone through, copied and pasted as in any spreadsheet.
import { Component } from "preact";
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { api, Refused, type Cell, type Column, type Edit, type Row, type Rows, type Table } from "./api";
import { select } from "./light";
import { designs } from "./me";
import { attempt, message, selected, tables } from "./state";

const ROW_PX = 44; // a gloved finger
const OVERSCAN = 6;
const NAMES_SHOWN = 50; // of what a reference may be
const CHARACTER_PX = 8.4;
const DIGITS = 6;

export function shown(value: Cell | undefined): string {
  return value === null || value === undefined
    ? ""
    : value === true
      ? "yes"
      : value === false
        ? "no"
        : String(value);
}

// Of derived figures as many digits as anybody reads; what is copied has all of them.
function told(value: Cell | undefined, kept: boolean): string {
  return typeof value === "number" && !kept ? String(Number(value.toPrecision(DIGITS))) : shown(value);
}

const collator = new Intl.Collator("en", { numeric: true });

// Where each row stands in the order of a column: words are ranked once each, so that sorting compares
// numbers alone. Blanks come first.
function ranks_of(rows: Row[], column: string): Float64Array {
  const ranks = new Float64Array(rows.length);
  const words = new Map<string, number>();
  rows.forEach((row, i) => {
    const value = row[column];
    if (typeof value === "number") {
      ranks[i] = value;
    } else {
      words.set(shown(value), 0);
      ranks[i] = -Infinity;
    }
  });
  if (words.size > 1 || !words.has("")) {
    [...words.keys()].sort(collator.compare).forEach((word, i) => words.set(word, i));
    rows.forEach((row, i) => {
      const value = row[column];
      if (typeof value !== "number") {
        ranks[i] = words.get(shown(value)) ?? 0;
      }
    });
  }
  return ranks;
}

function as_texts(row: Row): Record<string, string> {
  return Object.fromEntries(Object.entries(row).map(([name, value]) => [name, shown(value)]));
}

function key_of(table: Table, row: Row): Row {
  return Object.fromEntries(
    table.columns.filter((column) => column.key).map((column) => [column.name, row[column.name] ?? null]),
  );
}

function width_of(column: Column, rows: Row[], written: boolean): number {
  let longest = column.name.length + 3;
  for (let i = 0; i < rows.length; i += Math.max(1, Math.floor(rows.length / 200))) {
    longest = Math.max(longest, told(rows[i]?.[column.name], written).length);
  }
  return Math.round(Math.min(46, longest) * CHARACTER_PX + 20);
}

// All cells of a row in small letters, put together when somebody filters for the first time.
function texts_of(data: Rows, columns: Column[]): string[] {
  return data.rows.map((row) => columns.map((column) => shown(row[column.name])).join("\n").toLowerCase());
}

interface Editing {
  row: number; // in the order as read
  column: string;
  text: string;
  problem: string;
}

interface LineProps {
  index: number; // in the order as read
  at: number; // in the order shown
  row: Row;
  columns: Column[];
  cell: number; // the column that one is at; -1: another row
  first: number; // columns that are marked; first > last: none
  last: number;
  lit: boolean;
  editing: Editing | null;
  kept: boolean; // may be changed here
  written: boolean; // by people, and so shown as written
  grid: GridHandle;
}

interface GridHandle {
  touch: (at: number, column: number, more: boolean) => void;
  edit: (at: number, column: number) => void;
  set_editing: (editing: Editing | null) => void;
  save: (then: "stay" | "down" | "right") => void;
  drop: (index: number) => void;
  job: string;
}

// Drawn anew only when something of it has changed: scrolling draws what comes into sight.
class Line extends Component<LineProps> {
  override shouldComponentUpdate(next: LineProps): boolean {
    const { props } = this;
    return (Object.keys(next) as (keyof LineProps)[]).some((name) => props[name] !== next[name]);
  }
  override render({ index, at, row, columns, cell, first, last, lit, editing, kept, written, grid }: LineProps) {
    return (
      <div
        class={`row${lit ? " lit" : ""}`}
        role="row"
        aria-rowindex={at + 2}
        style={{ transform: `translateY(${at * ROW_PX}px)` }}
      >
        {columns.map((column, c) => (
          <div
            class={`cell ${column.kind}${c === cell ? " at" : ""}${c >= first && c <= last ? " marked" : ""}${editing?.column === column.name ? " editing" : ""}`}
            role="gridcell"
            id={`cell-${index}-${c}`}
            key={column.name}
            aria-selected={c === cell}
            onClick={(event) => grid.touch(at, c, event.shiftKey)}
            onDblClick={() => grid.edit(at, c)}
          >
            {editing?.column === column.name ? (
              <CellEditor editing={editing} column={column} grid={grid} />
            ) : (
              told(row[column.name], written)
            )}
          </div>
        ))}
        {kept && (
          <div role="gridcell">
            <button
              type="button"
              class="drop"
              tabIndex={-1}
              onClick={() => grid.drop(index)}
              aria-label={`drop ${shown(row[columns[0]?.name ?? ""])}`}
            >
              drop
            </button>
          </div>
        )}
      </div>
    );
  }
}

interface Spot {
  at: number; // in the order shown
  column: number;
}

export function Grid({ job, table, data }: { job: string; table: Table; data: Rows }) {
  const [sort, set_sort] = useState<{ column: string; down: boolean } | null>(null);
  const [filter, set_filter] = useState("");
  const [first, set_first] = useState(0); // in sight
  const [height, set_height] = useState(600);
  const [editing, set_editing] = useState<Editing | null>(null);
  const [spot, set_spot] = useState<Spot | null>(null);
  const [anchor, set_anchor] = useState<Spot | null>(null); // where marking began
  const [adding, set_adding] = useState(false);
  const frame = useRef<HTMLDivElement>(null);
  const saving = useRef(false);
  const kept = table.group !== "result" && designs.value;
  const target = table.group === "library" ? "library" : job;
  const columns = table.columns;
  const widths = useMemo(() => columns.map((column) => width_of(column, data.rows, table.group !== "result")), [data, columns]);
  const texts = useMemo(() => ({ all: null as string[] | null }), [data, columns]);
  const order = useMemo(() => {
    const words = filter.toLowerCase();
    let indices = data.rows.map((_, index) => index);
    if (words !== "") {
      texts.all ??= texts_of(data, columns);
      const all = texts.all;
      indices = indices.filter((index) => all[index]?.includes(words));
    }
    if (sort) {
      const ranks = ranks_of(data.rows, sort.column);
      const sign = sort.down ? -1 : 1;
      indices.sort((a, b) => {
        const [one, two] = [ranks[a] ?? 0, ranks[b] ?? 0];
        return one === two ? a - b : one < two ? -sign : sign;
      });
    }
    return indices;
  }, [data, sort, filter, columns]);

  useEffect(() => {
    const measure = () => set_height(frame.current?.clientHeight ?? 600);
    measure();
    addEventListener("resize", measure);
    return () => removeEventListener("resize", measure);
  }, []);
  useEffect(() => {
    const sizes = [...widths.map((width) => `${width}px`), "5rem"].join(" ");
    const wide = widths.reduce((sum, width) => sum + width, 0);
    frame.current?.style.setProperty("--columns", sizes);
    frame.current?.style.setProperty("--wide", `calc(${wide}px + 5rem)`);
  }, [widths]);

  // --- one cell -------------------------------------------------------------------------------

  const go_to = (at: number, column: number, more: boolean) => {
    const next = {
      at: Math.max(0, Math.min(order.length - 1, at)),
      column: Math.max(0, Math.min(columns.length - 1, column)),
    };
    set_spot(next);
    set_anchor(more ? (anchor ?? spot ?? next) : null);
    show(next);
  };
  // Into sight, with the heads above it.
  const show = ({ at, column }: Spot) => {
    const box = frame.current;
    if (!box) {
      return;
    }
    const top = at * ROW_PX;
    if (top < box.scrollTop) {
      box.scrollTop = top;
    } else if (top + 2 * ROW_PX > box.scrollTop + box.clientHeight) {
      box.scrollTop = top + 2 * ROW_PX - box.clientHeight;
    }
    const left = widths.slice(0, column).reduce((sum, width) => sum + width, 0);
    if (left < box.scrollLeft) {
      box.scrollLeft = left;
    } else if (left + (widths[column] ?? 0) > box.scrollLeft + box.clientWidth) {
      box.scrollLeft = left + (widths[column] ?? 0) - box.clientWidth;
    }
  };
  const edit = (at: number, column: number, text?: string) => {
    const index = order[at];
    const name = columns[column]?.name;
    if (kept && index !== undefined && name !== undefined) {
      set_editing({ row: index, column: name, text: text ?? shown(data.rows[index]?.[name]), problem: "" });
    }
  };
  const touch = (at: number, column: number, more: boolean) => {
    const row = data.rows[order[at] ?? -1];
    const again = spot?.at === at && spot.column === column && !more;
    go_to(at, column, more);
    if (again) {
      edit(at, column);
    } else {
      select(shown(row?.[columns[0]?.name ?? ""]), columns[column]?.name ?? "");
    }
  };
  const save = async (then: "stay" | "down" | "right") => {
    if (!editing || saving.current || editing.problem !== "") {
      return;
    }
    saving.current = true; // Enter also takes the focus away, which saves
    const good = await send(editing);
    saving.current = false;
    if (good && then !== "stay" && spot) {
      frame.current?.focus({ preventScroll: true });
      go_to(spot.at + (then === "down" ? 1 : 0), spot.column + (then === "right" ? 1 : 0), false);
    }
  };
  const send = async (editing: Editing): Promise<boolean> => {
    const row = data.rows[editing.row];
    if (!row || shown(row[editing.column]) === editing.text) {
      set_editing(null);
      return true;
    }
    const seen = data.acts?.[editing.row];
    const change: Edit = {
      table: table.name,
      before: key_of(table, row),
      after: { ...as_texts(row), [editing.column]: editing.text },
      ...(seen === undefined ? {} : { seen }),
    };
    try {
      await api.edit(target, `${table.name}: ${editing.column} = ${editing.text}`, [change]);
      set_editing(null);
      return true;
    } catch (error) {
      set_editing({ ...editing, problem: words_of_refusal(error) });
      return false;
    }
  };
  const drop = async (index: number) => {
    const row = data.rows[index];
    if (row) {
      const seen = data.acts?.[index];
      await attempt(() =>
        api.edit(target, `${table.name}: row dropped`, [
          { table: table.name, before: key_of(table, row), ...(seen === undefined ? {} : { seen }) },
        ]),
      );
    }
  };
  const handle: GridHandle = { touch, edit, set_editing, save: (then) => void save(then), drop: (index) => void drop(index), job };
  const stable = useRef(handle);
  Object.assign(stable.current, handle); // one object for good, so that lines need not be drawn anew

  // --- to and from spreadsheets ---------------------------------------------------------------

  const from = anchor ?? spot;
  const marked =
    spot && from
      ? {
          top: Math.min(spot.at, from.at),
          bottom: Math.max(spot.at, from.at),
          left: Math.min(spot.column, from.column),
          right: Math.max(spot.column, from.column),
        }
      : null;
  const block = (rows: number[], cells: Column[]) =>
    rows.map((index) =>
      cells.map((column) => shown(data.rows[index]?.[column.name]).replaceAll(/[\t\n]/g, " ")).join("\t"),
    );
  const copy_all = async () => {
    const lines = [columns.map((column) => column.name).join("\t"), ...block(order, columns)];
    await navigator.clipboard.writeText(lines.join("\n"));
    message.value = `${order.length} rows copied: paste them into a spreadsheet`;
  };
  const copy = (event: ClipboardEvent) => {
    if (marked && !editing && event.clipboardData) {
      event.preventDefault();
      const lines = block(order.slice(marked.top, marked.bottom + 1), columns.slice(marked.left, marked.right + 1));
      event.clipboardData.setData("text/plain", lines.join("\n"));
    }
  };
  const paste = async (event: ClipboardEvent) => {
    const text = event.clipboardData?.getData("text/plain") ?? "";
    const lines = text.replace(/\r/g, "").split("\n").filter((line) => line !== "").map((line) => line.split("\t"));
    if (!kept || editing || lines.length === 0 || event.target instanceof HTMLInputElement) {
      return;
    }
    event.preventDefault();
    const edits = pasted_rows(table, data, lines) ?? (spot ? pasted_cells(table, data, order, spot, lines) : []);
    if (edits.length === 0) {
      message.value = "nothing to take: touch the cell to begin at, or paste whole rows";
      return;
    }
    const done = await attempt(() => api.edit(target, `${table.name}: ${edits.length} rows pasted`, edits));
    if (done) {
      message.value = `${edits.length} rows taken; undo takes them back`;
    }
  };

  // --- keys -----------------------------------------------------------------------------------

  const keys = (event: KeyboardEvent) => {
    if (editing || event.target !== frame.current) {
      return;
    }
    const now = spot ?? { at: 0, column: 0 };
    const page = Math.max(1, Math.floor(height / ROW_PX) - 2);
    const command = event.ctrlKey || event.metaKey;
    const moves: Record<string, [number, number]> = {
      ArrowUp: [now.at - 1, now.column],
      ArrowDown: [now.at + 1, now.column],
      ArrowLeft: [now.at, now.column - 1],
      ArrowRight: [now.at, now.column + 1],
      PageUp: [now.at - page, now.column],
      PageDown: [now.at + page, now.column],
      Home: [command ? 0 : now.at, 0],
      End: [command ? order.length - 1 : now.at, columns.length - 1],
    };
    const move = moves[event.key];
    if (move) {
      go_to(...(spot ? move : ([0, 0] as [number, number])), event.shiftKey);
    } else if (event.key === "Enter" || event.key === "F2") {
      edit(now.at, now.column);
    } else if (event.key === "?") {
      select(shown(data.rows[order[now.at] ?? -1]?.[columns[0]?.name ?? ""]), columns[now.column]?.name ?? "");
    } else if (event.key === "Delete") {
      edit(now.at, now.column, "");
    } else if (event.key.length === 1 && event.key !== "/" && !command && !event.altKey && kept) {
      edit(now.at, now.column, event.key);
    } else {
      return;
    }
    event.preventDefault();
  };

  const begin = Math.max(0, first - OVERSCAN);
  const sight = order.slice(begin, Math.min(order.length, first + Math.ceil(height / ROW_PX) + OVERSCAN));
  // As many lines as there can be at once, used again and again.
  const pool = Math.ceil(height / ROW_PX) + 2 * OVERSCAN + 1;
  const at_index = spot ? order[spot.at] : undefined;
  return (
    <div class="grid" onPaste={(event) => void paste(event)} onCopy={copy}>
      <header>
        <h1>{table.name}</h1>
        <p>{table.meaning}</p>
        <input
          value={filter}
          placeholder="only rows with ..."
          aria-label="Only rows with"
          onInput={(event) => {
            set_filter(event.currentTarget.value);
            set_spot(null);
          }}
        />
        <span class="quiet">
          {order.length} of {data.rows.length}
        </span>
        {kept && (
          <button type="button" onClick={() => set_adding(!adding)} aria-expanded={adding}>
            new row
          </button>
        )}
        <button type="button" onClick={() => void copy_all()}>
          copy
        </button>
      </header>
      {adding && <NewRow job={job} table={table} target={target} close={() => set_adding(false)} />}
      {data.rows.length === 0 && <p class="plain">No row yet{kept ? ": \"new row\" begins one, or paste from a spreadsheet" : ""}.</p>}
      <div
        class="frame"
        ref={frame}
        tabIndex={0}
        role="grid"
        aria-label={`${table.name}: arrows go from cell to cell, Enter changes one, ? says why`}
        aria-rowcount={order.length + 1}
        aria-activedescendant={at_index === undefined ? undefined : `cell-${at_index}-${spot?.column}`}
        onScroll={(event) => set_first(Math.floor(event.currentTarget.scrollTop / ROW_PX))}
        onKeyDown={keys}
      >
        <div class="head" role="row">
          {columns.map((column) => (
            <button
              type="button"
              role="columnheader"
              key={column.name}
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
          role="rowgroup"
          ref={(element) => element?.style.setProperty("height", `${order.length * ROW_PX}px`)}
        >
          {sight.map((index, i) => {
            const at = begin + i;
            const row = data.rows[index] ?? {};
            const inside = marked !== null && at >= marked.top && at <= marked.bottom;
            return (
              <Line
                key={at % pool}
                index={index}
                at={at}
                row={row}
                columns={columns}
                cell={spot?.at === at ? spot.column : -1}
                first={inside && anchor ? marked.left : 1}
                last={inside && anchor ? marked.right : 0}
                lit={selected.value !== "" && shown(row[columns[0]?.name ?? ""]) === selected.value}
                editing={editing?.row === index ? editing : null}
                kept={kept}
                written={table.group !== "result"}
                grid={stable.current}
              />
            );
          })}
        </div>
      </div>
    </div>
  );
}

function words_of_refusal(error: unknown): string {
  if (!(error instanceof Refused)) {
    throw error;
  }
  const { cells, person, at, column } = error.refusal;
  return cells?.[0]
    ? `wanted: ${cells[0].expected}`
    : error.message + (person ? ` (${person}, ${at})` : "") + (column ? `: ${column}` : "");
}

// Whole rows: the first line names columns, or each line has as many cells as there are columns.
// Null when it is neither.
function pasted_rows(table: Table, data: Rows, lines: string[][]): Edit[] | null {
  const { columns } = table;
  const head = lines[0] ?? [];
  const named = head.length > 1 && head.every((name) => columns.some((column) => column.name === name));
  if (!named && head.length !== columns.length) {
    return null;
  }
  const names = named ? head : columns.map((column) => column.name);
  const there = new Map(
    data.rows.map((row, index) => [JSON.stringify(Object.values(key_of(table, row)).map(shown)), index]),
  );
  return lines.slice(named ? 1 : 0).map((line) => {
    const typed = Object.fromEntries(line.map((cell, i) => [names[i] ?? `cell ${i + 1}`, cell]));
    const key = columns.filter((column) => column.key).map((column) => typed[column.name] ?? "");
    const row = data.rows[there.get(JSON.stringify(key)) ?? -1];
    return {
      table: table.name,
      after: { ...(row ? as_texts(row) : {}), ...typed },
      ...(row ? { before: key_of(table, row) } : {}),
    };
  });
}

// Cells over cells, from the one that was touched on, to the right and down.
function pasted_cells(table: Table, data: Rows, order: number[], spot: Spot, lines: string[][]): Edit[] {
  return lines.flatMap((line, i) => {
    const index = order[spot.at + i];
    const row = index === undefined ? undefined : data.rows[index];
    if (!row || index === undefined) {
      return [];
    }
    const typed = Object.fromEntries(
      line.flatMap((cell, c) => {
        const name = table.columns[spot.column + c]?.name;
        return name === undefined ? [] : [[name, cell]];
      }),
    );
    const seen = data.acts?.[index];
    return [
      {
        table: table.name,
        before: key_of(table, row),
        after: { ...as_texts(row), ...typed },
        ...(seen === undefined ? {} : { seen }),
      },
    ];
  });
}

// --- what may stand in a cell -------------------------------------------------------------------

// Names of a table's rows, asked for once a table and job as long as nothing was typed for a while.
const asked = new Map<string, { when: number; names: Promise<string[]> }>();

function names_of(job: string, column: Column): Promise<string[]> {
  const words = column.kind === "word" ? (column.extra ?? "").split("|") : null;
  if (words || column.kind !== "ref" || !column.extra) {
    return Promise.resolve(words ?? (column.kind === "flag" ? ["yes", "no"] : []));
  }
  const wanted = column.extra;
  const id = `${job} ${wanted}`;
  const there = asked.get(id);
  if (there && Date.now() - there.when < 10_000) {
    return there.names;
  }
  const key = tables.value.find((table) => table.name === wanted)?.columns[0]?.name ?? "";
  const names = api
    .table(job, wanted)
    .then((answer) => answer.rows.map((row) => shown(row[key])))
    .catch(() => []);
  asked.set(id, { when: Date.now(), names });
  return names;
}

// Those that begin with what is typed before those that have it somewhere.
function fitting(names: string[], typed: string): string[] {
  const words = typed.toLowerCase();
  const begins: string[] = [];
  const holds: string[] = [];
  for (const name of names) {
    const at = name.toLowerCase().indexOf(words);
    if (at === 0 && begins.length < NAMES_SHOWN) {
      begins.push(name);
    } else if (at > 0 && holds.length < NAMES_SHOWN) {
      holds.push(name);
    }
  }
  return [...begins, ...holds].slice(0, NAMES_SHOWN);
}

interface CompletingProps {
  job: string;
  column: Column;
  value: string;
  id: string;
  set: (text: string) => void;
  keys?: (event: KeyboardEvent) => void;
  blur?: () => void;
  focus?: boolean;
  problem?: string;
}

// A line that says what may stand in it, as one types.
function Completing({ job, column, value, id, set, keys, blur, focus, problem }: CompletingProps) {
  const [names, set_names] = useState<string[]>([]);
  useEffect(() => {
    let current = true;
    void names_of(job, column).then((list) => {
      if (current) {
        set_names(list);
      }
    });
    return () => {
      current = false;
    };
  }, [job, column]);
  const some = names.length === 0 ? [] : fitting(names, column.kind === "ref" ? value : "");
  return (
    <>
      <input
        value={value}
        list={some.length > 0 ? id : undefined}
        aria-invalid={(problem ?? "") !== ""}
        aria-label={`${column.name}: ${column.meaning}`}
        ref={(element) => {
          if (focus && element && element.dataset["once"] !== "yes") {
            element.dataset["once"] = "yes";
            element.focus();
          }
        }}
        onInput={(event) => set(event.currentTarget.value)}
        onBlur={() => blur?.()}
        onKeyDown={(event) => keys?.(event)}
      />
      {some.length > 0 && (
        <datalist id={id}>
          {some.map((name) => (
            <option key={name} value={name} />
          ))}
        </datalist>
      )}
    </>
  );
}

function CellEditor({ editing, column, grid }: { editing: Editing; column: Column; grid: GridHandle }) {
  return (
    <span class="editor">
      <Completing
        job={grid.job}
        column={column}
        value={editing.text}
        id="names"
        focus
        problem={editing.problem}
        set={(text) => grid.set_editing({ ...editing, text, problem: "" })}
        blur={() => grid.save("stay")}
        keys={(event) => {
          event.stopPropagation();
          if (event.key === "Enter") {
            grid.save("down");
          } else if (event.key === "Tab") {
            event.preventDefault();
            grid.save("right");
          } else if (event.key === "Escape") {
            grid.set_editing(null);
          }
        }}
      />
      {editing.problem !== "" && <em role="alert">{editing.problem}</em>}
    </span>
  );
}

// A row that is not there yet: all that it must have, at once.
function NewRow(props: { job: string; table: Table; target: string; close: () => void }) {
  const { job, table, target, close } = props;
  const [typed, set_typed] = useState<Record<string, string>>({});
  const [problem, set_problem] = useState<{ column: string; words: string } | null>(null);
  const add = async () => {
    try {
      const name = typed[table.columns[0]?.name ?? ""] ?? "";
      await api.edit(target, `${table.name}: ${name} added`, [{ table: table.name, after: typed }]);
      set_typed({});
      set_problem(null);
      message.value = `${name} is there; undo takes it back`;
    } catch (error) {
      const column = error instanceof Refused ? (error.refusal.cells?.[0]?.column ?? error.refusal.column ?? "") : "";
      set_problem({ column, words: words_of_refusal(error) });
    }
  };
  return (
    <form
      class="newrow"
      aria-label={`New row of ${table.name}`}
      onSubmit={(event) => {
        event.preventDefault();
        void add();
      }}
      onKeyDown={(event) => {
        if (event.key === "Escape") {
          close();
        }
      }}
    >
      {table.columns.map((column, i) => (
        <label key={column.name} title={column.meaning}>
          <span>
            {column.name}
            {column.need || column.key ? " *" : ""}
          </span>
          <Completing
            job={job}
            column={column}
            value={typed[column.name] ?? ""}
            id={`new-${column.name}`}
            focus={i === 0}
            problem={problem?.column === column.name ? problem.words : ""}
            set={(text) => set_typed({ ...typed, [column.name]: text })}
          />
        </label>
      ))}
      <p>
        <button type="submit">add</button>
        <button type="button" onClick={close}>
          close
        </button>
        {problem && (
          <em role="alert">
            {problem.column !== "" && `${problem.column}: `}
            {problem.words}
          </em>
        )}
      </p>
    </form>
  );
}
