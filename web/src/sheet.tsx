// A sheet edge to edge, moved and enlarged like paper on a bench. What is touched lights up wherever
// it is drawn, and its reasons open beside it.
import { useEffect, useRef, useState } from "preact/hooks";
import { api } from "./api";
import { show_failing, toggle, trial_marks } from "./failing";
import { lit, select, words_of, type Lit } from "./light";
import { attempt, changes, current_job, link, place, selected, sheets, sheets_problem } from "./state";
import { Why } from "./why";

const LARGEST = 40; // times the whole sheet
const STEP = 1.2; // of one turn of the wheel

interface View {
  x: number;
  y: number;
  scale: number;
}

let papers = 0; // told apart, since each brings glyphs of its own

// The drawing with its glyphs moved to where the page's policy lets them be.
function parse(text: string, paper: number, glyphs: CSSStyleSheet): SVGSVGElement | null {
  let style = "";
  const own = text.replace(/(font-family[:=]"?)m(\d)/g, `$1p${paper}m$2`);
  const bare = own.replace(/<style>([^<]*)<\/style>/, (_, rules: string) => {
    style = rules;
    return "";
  });
  const read = new DOMParser().parseFromString(bare, "image/svg+xml").documentElement;
  if (!(read instanceof SVGSVGElement)) {
    return null;
  }
  glyphs.replaceSync(style);
  read.querySelector("title")?.remove();
  read.removeAttribute("width");
  read.removeAttribute("height");
  return document.importNode(read, true);
}

// The key of what is drawn nearest to a place: lines are thin and fingers are not.
function key_near(x: number, y: number): string {
  for (const radius of [0, 4, 8, 14, 20]) {
    for (let turn = 0; turn < (radius === 0 ? 1 : 12); turn++) {
      const angle = (turn * Math.PI) / 6;
      const there = document.elementFromPoint(x + radius * Math.cos(angle), y + radius * Math.sin(angle));
      const key = there?.closest<SVGElement>(".paper [data-key]")?.dataset["key"];
      if (key) {
        return key;
      }
    }
  }
  return "";
}

// What is touched, what belongs to it, what has failed and what is dark by that.
function light(svg: SVGSVGElement, now: Lit, marks: typeof trial_marks.value): void {
  svg.querySelectorAll(".cross").forEach((cross) => cross.remove());
  const crossed = new Set<string>();
  for (const group of svg.querySelectorAll<SVGElement>("[data-key]")) {
    const key = group.dataset["key"] ?? "";
    const words = words_of(key);
    const own = now.own.has(key) || words.some((word) => now.own.has(word));
    const dark = group.dataset["table"] === "bus" ? marks.buses : marks.dark;
    const is_dark = dark.has(key) || words.some((word) => dark.has(word));
    const failed = marks.failed.has(key) || words.some((word) => marks.failed.has(word));
    group.classList.toggle("lit", own);
    group.classList.toggle("kin", !own && words.some((word) => now.kin.has(word)));
    group.classList.toggle("dark", is_dark && !failed);
    group.classList.toggle("failed", failed);
    if (failed && !crossed.has(key) && group instanceof SVGGraphicsElement) {
      crossed.add(key);
      svg.append(cross(group.getBBox()));
    }
  }
}

// A cross over the middle of what has failed.
function cross(box: DOMRect): SVGPathElement {
  const x = box.x + box.width / 2;
  const y = box.y + box.height / 2;
  const arm = 3; // mm of paper
  const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
  path.setAttribute("d", `M${x - arm} ${y - arm}l${2 * arm} ${2 * arm}m0 ${-2 * arm}l${-2 * arm} ${2 * arm}`);
  path.setAttribute("class", "cross");
  return path;
}

export function SheetList() {
  const job = current_job.value;
  if (sheets_problem.value !== "") {
    return (
      <div class="plain">
        <h1>Nothing can be drawn yet</h1>
        <p>{sheets_problem.value}</p>
        <p>
          <a href={link(job, "proof")}>What is wrong</a>
        </p>
      </div>
    );
  }
  return (
    <div class="plain">
      <h1>Sheets</h1>
      {sheets.value.length === 0 && <p>Laying out the sheets ...</p>}
      <ol class="sheets">
        {sheets.value.map((sheet) => (
          <li key={sheet.name}>
            <a href={link(job, "sheet", sheet.name)}>
              <strong>{sheet.title}</strong>
              <small>{sheet.name}</small>
            </a>
          </li>
        ))}
      </ol>
    </div>
  );
}

export function Paper(props: { job: string; name: string; turn_to: (name: string) => void }) {
  const { job, name, turn_to } = props;
  const glyphs = useRef<CSSStyleSheet | null>(null);
  const number = useRef(0);
  const bench = useRef<HTMLDivElement>(null);
  const drawn = useRef<SVGSVGElement | null>(null);
  const view = useRef<View>({ x: 0, y: 0, scale: 1 });
  const pointers = useRef(new Map<number, { x: number; y: number }>());
  const moved = useRef(0);
  const [empty, set_empty] = useState(true);

  useEffect(() => {
    const sheet = new CSSStyleSheet();
    glyphs.current = sheet;
    number.current = ++papers;
    document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
    return () => {
      document.adoptedStyleSheets = document.adoptedStyleSheets.filter((one) => one !== sheet);
    };
  }, []);

  const place_paper = () => {
    const { x, y, scale } = view.current;
    if (drawn.current) {
      drawn.current.style.transform = `translate(${x}px, ${y}px) scale(${scale})`;
    }
  };
  const zoom = (x: number, y: number, by: number) => {
    const now = view.current;
    const scale = Math.min(LARGEST, Math.max(1, now.scale * by));
    const share = scale / now.scale;
    view.current = { scale, x: x - (x - now.x) * share, y: y - (y - now.y) * share };
    if (scale === 1) {
      view.current = { x: 0, y: 0, scale: 1 };
    }
    place_paper();
  };

  useEffect(() => {
    view.current = { x: 0, y: 0, scale: 1 };
  }, [name]);
  const round = changes.value;
  useEffect(() => {
    let current = true;
    void attempt(() => api.sheet(job, name)).then((text) => {
      const svg = current && text && glyphs.current ? parse(text, number.current, glyphs.current) : null;
      if (svg && bench.current) {
        drawn.current = svg;
        bench.current.replaceChildren(svg);
        light(svg, lit.value, trial_marks.value);
        place_paper();
        set_empty(false);
      }
    });
    return () => {
      current = false;
    };
  }, [job, name, round]);
  const now = lit.value;
  const marks = trial_marks.value;
  useEffect(() => {
    if (drawn.current) {
      light(drawn.current, now, marks);
    }
  }, [now, marks]);

  const at = (event: PointerEvent | WheelEvent) => {
    const box = bench.current?.getBoundingClientRect();
    return { x: event.clientX - (box?.left ?? 0), y: event.clientY - (box?.top ?? 0) };
  };
  const down = (event: PointerEvent) => {
    pointers.current.set(event.pointerId, at(event));
    moved.current = 0;
  };
  const move = (event: PointerEvent) => {
    const from = pointers.current.get(event.pointerId);
    if (!from) {
      return;
    }
    const to = at(event);
    moved.current += Math.abs(to.x - from.x) + Math.abs(to.y - from.y);
    const others = [...pointers.current].filter(([id]) => id !== event.pointerId);
    const other = others[0]?.[1];
    if (other) {
      const before = Math.hypot(from.x - other.x, from.y - other.y);
      const after = Math.hypot(to.x - other.x, to.y - other.y);
      zoom(other.x, other.y, before > 0 ? after / before : 1);
    } else if (view.current.scale > 1) {
      view.current.x += to.x - from.x;
      view.current.y += to.y - from.y;
      place_paper();
    }
    pointers.current.set(event.pointerId, to);
  };
  const up = (event: PointerEvent) => {
    pointers.current.delete(event.pointerId);
    if (moved.current < 8 && event.type === "pointerup") {
      const key = key_near(event.clientX, event.clientY);
      if (show_failing.value && key !== "") {
        void toggle(key);
      } else {
        select(key);
      }
    }
  };
  const wheel = (event: WheelEvent) => {
    event.preventDefault();
    const { x, y } = at(event);
    zoom(x, y, event.deltaY < 0 ? STEP : 1 / STEP);
  };
  const keys = (event: KeyboardEvent) => {
    const list = sheets.value;
    const index = list.findIndex((sheet) => sheet.name === name);
    const step = event.key === "PageDown" ? 1 : event.key === "PageUp" ? -1 : 0;
    const next = list[index + step];
    if (step !== 0 && next) {
      event.preventDefault();
      turn_to(next.name);
    } else if (event.key === "+" || event.key === "-") {
      const box = bench.current?.getBoundingClientRect();
      zoom((box?.width ?? 0) / 2, (box?.height ?? 0) / 2, event.key === "+" ? STEP : 1 / STEP);
    }
  };
  useEffect(() => {
    const element = bench.current;
    element?.addEventListener("wheel", wheel, { passive: false });
    return () => element?.removeEventListener("wheel", wheel);
  }, []);
  return (
    <>
      <div
        class="paper"
        ref={bench}
        tabIndex={0}
        role="img"
        aria-label={sheets.value.find((sheet) => sheet.name === name)?.title ?? name}
        onPointerDown={down}
        onPointerMove={move}
        onPointerUp={up}
        onPointerCancel={up}
        onPointerLeave={up}
        onKeyDown={keys}
      />
      {empty && <p class="plain over">Drawing ...</p>}
    </>
  );
}

export function SheetPage() {
  const { job, name } = place.value;
  const key = selected.value;
  if (name === "") {
    return <SheetList />;
  }
  return (
    <>
      <Paper job={job} name={name} turn_to={(next) => (location.hash = link(job, "sheet", next))} />
      {key !== "" && <Why job={job} name={key} />}
    </>
  );
}
