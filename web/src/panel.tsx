// The panel as it will look, with its items to be dragged, aligned, turned and pinned. What is moved
// is tried at once by the desk's own checks; nothing is written until somebody says so.
import { useEffect, useRef, useState } from "preact/hooks";
import { get, post, api, type Edit, type Row, type Rows } from "./api";
import { attempt, changes, current_job, link, message } from "./state";

interface Face {
  face: string;
  name: string;
  path: string;
  box: [number, number, number, number];
  margin: number;
  finishes: { finish: string; name: string; usual: boolean }[];
}
interface Item {
  item: string;
  face: string;
  name: string;
  serves: string;
  use: string;
  align: string;
  pinned: boolean;
  u: number;
  v: number;
  rotation: number;
  width: number;
  height: number;
  path: string;
}
interface Option {
  option: string;
  name: string;
  chosen: "open" | "taken" | "no";
  cost: string;
}
interface PanelData {
  act: number;
  faces: Face[];
  items: Item[];
  options: Option[];
}
interface Move {
  item: string;
  u_mm?: number;
  v_mm?: number;
  rotation_deg?: number;
  pinned?: boolean;
}
interface AlignMove {
  align: string;
  value_mm: number;
}
interface LegendMove {
  legend: string;
  u_mm: number;
  v_mm: number;
}
interface Change {
  moves: Move[];
  aligns: AlignMove[];
}
interface Finding {
  rule: string;
  severity: string;
  row: string;
  rows: string;
  message: string;
  hint: string;
  accepted: boolean;
  new: boolean;
}
interface Tried {
  at: Record<string, [number, number]>;
  findings: Finding[];
  new: number;
  gone: number;
  legends: LegendMove[];
}
interface Proposal {
  score: number;
  moves: Move[];
  aligns: AlignMove[];
  wishes: { wish: string; kept: boolean; lacks: number }[];
  differs: number; // share of what may move that stands elsewhere than in the best
  keeps: boolean; // moves as little as the rules allow
  moved: number; // items, and all their ways
  moved_mm: number;
  wrong: string[]; // against rules about room all the same
}
interface Proposed {
  proposals: Proposal[];
  bars: string[]; // why none keeps every rule
}

const NOTHING: Change = { moves: [], aligns: [] };
const STEP_MM = 1; // of an arrow key
const FINE_MM = 0.1; // the same with Alt
const NEAR_PX = 14; // a finger or a pointer means the item that near

const panel_api = {
  panel: (job: string) => get<PanelData>("/api/panel", { job }),
  tried: (job: string, change: Change) =>
    post<Tried>(`/api/panel/try?${new URLSearchParams({ job })}`, change),
  suggest: (job: string) => get<Proposed>("/api/panel/suggest", { job }),
};

function hundredths(value: number): number {
  return Math.round(value * 100) / 100;
}

function with_move(change: Change, move: Move): Change {
  const old = change.moves.find((one) => one.item === move.item);
  return {
    ...change,
    moves: [...change.moves.filter((one) => one !== old), { ...old, ...move }],
  };
}

// --- writing ------------------------------------------------------------------------------------

function edits_of(table: string, key: string, rows: Rows, changed: Map<string, Row>): Edit[] {
  return rows.rows.flatMap((row, index) => {
    const name = String(row[key]);
    const now = changed.get(name);
    if (!now) {
      return [];
    }
    const after = Object.fromEntries(
      Object.entries({ ...row, ...now }).map(([column, value]) => [
        column,
        value === null ? "" : typeof value === "boolean" ? (value ? "yes" : "no") : String(value),
      ]),
    );
    const seen = rows.acts?.[index];
    return [{ table, before: { [key]: name }, after, ...(seen === undefined ? {} : { seen }) }];
  });
}

function without_names(move: Move | AlignMove | LegendMove): Row {
  return Object.fromEntries(
    Object.entries(move)
      .filter(([name]) => !["item", "align", "legend"].includes(name))
      .map(([name, value]) => [name, typeof value === "number" ? hundredths(value) : value]),
  ) as Row;
}

async function write(job: string, change: Change, tried: Tried): Promise<boolean> {
  const [mount, align, legend] = await Promise.all(
    ["mount", "align", "legend"].map((table) => api.table(job, table)),
  );
  if (!mount || !align || !legend) {
    return false;
  }
  const edits = [
    ...edits_of("mount", "item", mount, new Map(change.moves.map((m) => [m.item, without_names(m)]))),
    ...edits_of("align", "align", align, new Map(change.aligns.map((m) => [m.align, without_names(m)]))),
    ...edits_of("legend", "legend", legend, new Map(tried.legends.map((m) => [m.legend, without_names(m)]))),
  ];
  const what =
    change.moves.length === 1 ? `panel: ${change.moves[0]?.item}` : `panel: ${change.moves.length} items`;
  await api.edit(job, what, edits);
  return true;
}

// --- the face -----------------------------------------------------------------------------------

interface Standing extends Item {
  at: [number, number];
  turned: number;
  held: boolean; // pinned, with the change
}

function standing(items: Item[], change: Change, tried: Tried | null): Standing[] {
  return items.map((item) => {
    const move = change.moves.find((one) => one.item === item.item);
    const at = tried?.at[item.item] ?? [item.u, item.v];
    return {
      ...item,
      at: [move?.u_mm !== undefined && item.align === "" ? move.u_mm : at[0],
        move?.v_mm !== undefined && item.align === "" ? move.v_mm : at[1]],
      turned: move?.rotation_deg ?? item.rotation,
      held: move?.pinned ?? item.pinned,
    };
  });
}

function Front({
  face,
  items,
  picture,
  chosen,
  wrong,
  choose,
  drag,
  step,
}: {
  face: Face;
  items: Standing[];
  picture: string;
  chosen: string[];
  wrong: Set<string>;
  choose: (item: string, more: boolean) => void;
  drag: (item: string, u: number, v: number) => void;
  step: (du: number, dv: number) => void;
}) {
  const svg = useRef<SVGSVGElement>(null);
  const dragged = useRef<{ item: string; du: number; dv: number } | null>(null);
  const [u0, v0, u1, v1] = face.box;
  const m = face.margin;

  const there = (event: PointerEvent): DOMPoint | null => {
    const matrix = svg.current?.getScreenCTM();
    return matrix ? new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse()) : null;
  };
  const down = (event: PointerEvent) => {
    const point = there(event);
    if (!point || !svg.current) {
      return;
    }
    const near_mm = (NEAR_PX * (u1 - u0 + 2 * m)) / svg.current.getBoundingClientRect().width;
    let least = near_mm;
    let found: Standing | null = null;
    for (const item of items) {
      const away = Math.max(
        Math.abs(point.x - item.at[0]) - item.width / 2,
        Math.abs(-point.y - item.at[1]) - item.height / 2,
      );
      if (away < least) {
        least = away;
        found = item;
      }
    }
    if (!found) {
      choose("", false);
      return;
    }
    choose(found.item, event.shiftKey || event.ctrlKey || event.metaKey);
    if (!found.held) {
      event.preventDefault();
      svg.current.setPointerCapture(event.pointerId);
      dragged.current = { item: found.item, du: found.at[0] - point.x, dv: found.at[1] + point.y };
    }
    svg.current.focus();
  };
  const move = (event: PointerEvent) => {
    const point = there(event);
    if (dragged.current && point) {
      const { item, du, dv } = dragged.current;
      drag(item, hundredths(point.x + du), hundredths(dv - point.y));
    }
  };
  const up = () => {
    dragged.current = null;
  };
  const keys = (event: KeyboardEvent) => {
    const by = event.altKey ? FINE_MM : STEP_MM;
    const ways: Record<string, [number, number]> = {
      ArrowLeft: [-by, 0],
      ArrowRight: [by, 0],
      ArrowUp: [0, by],
      ArrowDown: [0, -by],
    };
    const way = ways[event.key];
    if (way && chosen.length > 0) {
      event.preventDefault();
      step(...way);
    }
  };
  return (
    <div class="front" tabIndex={0} role="group" aria-label="front of the panel, it may be wider than the window">
      <svg
        ref={svg}
        viewBox={`${u0 - m} ${-v1 - m} ${u1 - u0 + 2 * m} ${v1 - v0 + 2 * m}`}
        tabindex={0}
        role="application"
        aria-label={`${face.name}: arrow keys move what is chosen`}
        onPointerDown={down}
        onPointerMove={move}
        onPointerUp={up}
        onPointerCancel={up}
        onKeyDown={keys}
      >
        {picture !== "" && (
          <image
            href={picture}
            x={u0 - m}
            y={-v1 - m}
            width={u1 - u0 + 2 * m}
            height={v1 - v0 + 2 * m}
            preserveAspectRatio="none"
          />
        )}
        <g transform="scale(1 -1)">
          <path class="sheet-edge" d={face.path} />
          {items.map((item) => {
            const moved = Math.hypot(item.at[0] - item.u, item.at[1] - item.v) > 0.004 || item.turned !== item.rotation;
            const name = ["bezel"];
            if (moved) {
              name.push("moved");
            }
            if (wrong.has(item.item)) {
              name.push("wrong");
            }
            if (chosen.includes(item.item)) {
              name.push("chosen");
            }
            if (item.held) {
              name.push("pinned");
            }
            return (
              <path
                key={item.item}
                data-item={item.item}
                class={name.join(" ")}
                d={item.path}
                transform={`translate(${item.at[0]} ${item.at[1]}) rotate(${item.turned})`}
              />
            );
          })}
        </g>
      </svg>
    </div>
  );
}

// --- the page -----------------------------------------------------------------------------------

function Findings({ tried }: { tried: Tried }) {
  const open = tried.findings.filter((finding) => !finding.accepted && finding.severity !== "note");
  const sorted = [...open].sort((a, b) => Number(b.new) - Number(a.new));
  return (
    <div class="tried" role="status">
      <p>
        <strong>{tried.new} new</strong>, {tried.gone} gone, {open.length} open of the panel
      </p>
      <ol>
        {sorted.map((finding) => (
          <li key={`${finding.rule} ${finding.row} ${finding.rows} ${finding.message}`}>
            <span class={`severity ${finding.severity}`}>
              {finding.severity}
              {finding.new ? ", new" : ""}
            </span>{" "}
            {finding.message}
            {finding.hint !== "" && <small> {finding.hint}</small>}
          </li>
        ))}
      </ol>
    </div>
  );
}

function Proposals({ answer, take }: { answer: Proposed; take: (proposal: Proposal) => void }) {
  const { proposals, bars } = answer;
  return (
    <div>
      {proposals.length === 0 && <p>No layout was found that keeps every rule. That does not prove that there is none.</p>}
      {bars.length > 0 && (
        <>
          <p>No layout was found that keeps every rule{proposals.length > 0 ? "; the nearest leave this as it is" : ""}:</p>
          <ul>
            {bars.map((bar) => (
              <li key={bar}>{bar}</li>
            ))}
          </ul>
        </>
      )}
      <ol class="proposals">
        {proposals.map((proposal, index) => {
          const gave = proposal.wishes.filter((wish) => !wish.kept);
          return (
            <li key={index}>
              <button type="button" onClick={() => take(proposal)}>
                layout {index + 1}: {proposal.moved} moved, {proposal.moved_mm.toFixed(0)} mm in all
              </button>{" "}
              {proposal.keeps && "moves least; "}
              {index > 0 && `${(100 * proposal.differs).toFixed(0)} % stands elsewhere than in layout 1; `}
              {gave.length === 0
                ? "keeps every wish"
                : `gave way: ${gave.map((wish) => `${wish.wish}, by ${wish.lacks.toFixed(1)} mm`).join("; ")}`}
              {proposal.wrong.length > 0 && `; stays wrong: ${proposal.wrong.join("; ")}`}
            </li>
          );
        })}
      </ol>
    </div>
  );
}

function useTried(job: string, change: Change, act: number): Tried | null {
  const [tried, set_tried] = useState<Tried | null>(null);
  const asking = useRef(false);
  const wanted = useRef<Change | null>(null);
  useEffect(() => {
    wanted.current = change;
    const ask = async () => {
      asking.current = true;
      while (wanted.current) {
        const now = wanted.current;
        wanted.current = null;
        const answer = await attempt(() => panel_api.tried(job, now));
        if (answer) {
          set_tried(answer);
        }
      }
      asking.current = false;
    };
    if (!asking.current && act > 0) {
      void ask();
    }
  }, [job, change, act]);
  return tried;
}

function Variants({
  face,
  options,
  look,
  set_look,
}: {
  face: Face;
  options: Option[];
  look: Record<string, string>;
  set_look: (look: Record<string, string>) => void;
}) {
  const option = options.find((one) => one.option === look["option"]);
  return (
    <>
      <label>
        coat{" "}
        <select value={look["finish"] ?? ""} onChange={(event) => set_look({ ...look, finish: event.currentTarget.value })}>
          {face.finishes.map((finish) => (
            <option key={finish.finish} value={finish.usual ? "" : finish.finish}>
              {finish.name}
            </option>
          ))}
        </select>
      </label>
      <label>
        option{" "}
        <select
          value={`${look["option"] ?? ""} ${look["taken"] ?? ""}`}
          onChange={(event) => {
            const [name = "", taken = ""] = event.currentTarget.value.split(" ");
            set_look({ ...look, option: name, taken });
          }}
        >
          <option value=" ">as the customer said</option>
          {options.flatMap((one) => [
            <option key={`${one.option} yes`} value={`${one.option} yes`}>{`with ${one.option} ${one.name}`}</option>,
            <option key={`${one.option} no`} value={`${one.option} no`}>{`without ${one.option} ${one.name}`}</option>,
          ])}
        </select>
      </label>
      {option && <p class="quiet">{`${option.option}, ${option.chosen}: ${option.cost}`}</p>}
    </>
  );
}

export function PanelPage() {
  const job = current_job.value;
  const round = changes.value;
  const [data, set_data] = useState<PanelData | null>(null);
  const [face_name, set_face] = useState("");
  const [change, set_change] = useState<Change>(NOTHING);
  const [chosen, set_chosen] = useState<string[]>([]);
  const [look, set_look] = useState<Record<string, string>>({});
  const [plain, set_plain] = useState(false);
  const [proposals, set_proposals] = useState<Proposed | null>(null);
  const [busy, set_busy] = useState("");
  const tried = useTried(job, change, data?.act ?? 0);
  useEffect(() => {
    let current = true;
    void attempt(() => panel_api.panel(job)).then((answer) => {
      if (current && answer) {
        set_data(answer);
        set_proposals(null);
      }
    });
    return () => {
      current = false;
    };
  }, [job, round]);
  if (!data) {
    return (
      <div class="plain">
        <h1>Panel</h1>
        <p>{message.value === "" ? "Reading the panel ..." : message.value}</p>
      </div>
    );
  }
  const face = data.faces.find((one) => one.face === face_name) ?? data.faces[0];
  if (!face) {
    return <p class="plain">This job has no panel.</p>;
  }
  const items = standing(data.items.filter((item) => item.face === face.face), change, tried);
  const open = change.moves.length + change.aligns.length > 0;
  const wrong = new Set(
    (tried?.findings ?? [])
      .filter((finding) => finding.new && !finding.accepted)
      .flatMap((finding) => [finding.row, ...finding.rows.split(" ")]),
  );
  const movable = items.filter((item) => chosen.includes(item.item) && !item.held);
  const move_all = (where: (item: Standing) => Partial<Move>) => {
    set_change(movable.reduce((now, item) => with_move(now, { item: item.item, ...where(item) }), change));
  };
  // Keys may come faster than the page is drawn: each goes on from where the last one led.
  const step = (du: number, dv: number) => {
    set_change((now) =>
      movable.reduce((so_far, item) => {
        const move = so_far.moves.find((one) => one.item === item.item);
        const u_mm = hundredths((move?.u_mm ?? item.at[0]) + du);
        const v_mm = hundredths((move?.v_mm ?? item.at[1]) + dv);
        return with_move(so_far, { item: item.item, u_mm, v_mm });
      }, now),
    );
  };
  const pin = () => {
    const all_held = chosen.every((name) => items.find((item) => item.item === name)?.held);
    set_change(chosen.reduce((now, item) => with_move(now, { item, pinned: !all_held }), change));
  };
  const first = movable[0];
  const one = items.find((item) => item.item === chosen[chosen.length - 1]);
  const query = new URLSearchParams({
    job,
    face: face.face,
    ...Object.fromEntries(Object.entries(look).filter(([, value]) => value !== "")),
    width: window.innerWidth < 700 ? "1080" : "2400",
    act: String(data.act), // a newer panel is another picture
  });
  const save = async () => {
    if (tried) {
      set_busy("Writing ...");
      const done = await attempt(() => write(job, change, tried));
      set_busy("");
      if (done) {
        set_change(NOTHING);
      }
    }
  };
  const ask_proposals = async () => {
    set_busy("Looking for layouts ...");
    const answer = await attempt(() => panel_api.suggest(job));
    set_busy("");
    set_proposals(answer ?? null);
  };
  return (
    <div class="panel-page">
      <Front
        face={face}
        items={items}
        picture={plain ? "" : `/api/panel/picture?${query}`}
        chosen={chosen}
        wrong={wrong}
        choose={(item, more) => {
          set_chosen(item === "" ? [] : more ? [...chosen.filter((name) => name !== item), item] : chosen.includes(item) ? chosen : [item]);
        }}
        drag={(item, u_mm, v_mm) => set_change((now) => with_move(now, { item, u_mm, v_mm }))}
        step={step}
      />
      <div class="panel-tools">
        {data.faces.length > 1 && (
          <label>
            face{" "}
            <select value={face.face} onChange={(event) => set_face(event.currentTarget.value)}>
              {data.faces.map((other) => (
                <option key={other.face} value={other.face}>
                  {other.name}
                </option>
              ))}
            </select>
          </label>
        )}
        <label>
          item{" "}
          <select value={one?.item ?? ""} onChange={(event) => set_chosen(event.currentTarget.value === "" ? [] : [event.currentTarget.value])}>
            <option value="">none</option>
            {items.map((item) => (
              <option key={item.item} value={item.item}>
                {item.item}
              </option>
            ))}
          </select>
        </label>
        <button type="button" disabled={chosen.length === 0} onClick={pin}>
          {one?.held ? "unpin" : "pin"}
        </button>
        <button type="button" disabled={movable.length === 0} onClick={() => move_all((item) => ({ rotation_deg: (item.turned + 90) % 360 }))}>
          turn
        </button>
        <button type="button" disabled={movable.length < 2} onClick={() => move_all(() => ({ v_mm: first?.at[1] ?? 0 }))}>
          one height
        </button>
        <button type="button" disabled={movable.length < 2} onClick={() => move_all(() => ({ u_mm: first?.at[0] ?? 0 }))}>
          one column
        </button>
        <button type="button" disabled={busy !== ""} onClick={() => void ask_proposals()}>
          suggest
        </button>
        <button type="button" class="go" disabled={!open || busy !== ""} onClick={() => void save()}>
          write
        </button>
        <button type="button" disabled={!open} onClick={() => set_change(NOTHING)}>
          put back
        </button>
        <label>
          <input type="checkbox" checked={plain} onChange={(event) => set_plain(event.currentTarget.checked)} /> outlines alone
        </label>
        <Variants face={face} options={data.options} look={look} set_look={set_look} />
      </div>
      <div class="panel-words">
        {busy !== "" && <p role="status">{busy}</p>}
        {one && (
          <p>
            <strong>{one.item}</strong> {one.name}
            {one.serves === "" ? "" : `, for ${one.serves}`}: u {one.at[0].toFixed(2)}, v {one.at[1].toFixed(2)}
            {one.turned === 0 ? "" : `, turned ${one.turned} degrees`}
            {one.held ? ", pinned" : ""}
            {one.align === "" ? "" : `, held by row ${one.align} of align`}{" "}
            <a href={link(job, "table", "mount")}>table mount</a>
          </p>
        )}
        {proposals && (
          <Proposals
            answer={proposals}
            take={(proposal) => set_change({ moves: proposal.moves, aligns: proposal.aligns })}
          />
        )}
        {tried && <Findings tried={tried} />}
      </div>
    </div>
  );
}
