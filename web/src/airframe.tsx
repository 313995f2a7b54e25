// The aircraft's skeleton with what runs in it and hangs on it, drawn on a canvas by our own hand:
// from above, from the side, from behind, or turned as one likes. Nothing turns by itself.
import { effect } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { show_failing, toggle, trial_marks } from "./failing";
import { aircraft, aircraft_problem, aircraft_wanted, lit, select, type Aircraft } from "./light";
import { theme } from "./theme";

export type Look = "turn" | "plan" | "side" | "behind";
export const LOOKS: Record<Look, string> = {
  turn: "Aircraft, turnable",
  plan: "Route plan from above",
  side: "Route plan from the left",
  behind: "Route plan from behind",
};

interface Eye {
  turn: number; // degrees about the upright axis; 0: from behind
  tilt: number; // degrees above the horizon; 90: from above
  scale: number; // times what fits
  x: number; // moved, in pixels
  y: number;
}

const EYES: Record<Look, Eye> = {
  turn: { turn: -38, tilt: 28, scale: 1, x: 0, y: 0 },
  plan: { turn: 0, tilt: 90, scale: 1, x: 0, y: 0 },
  side: { turn: -90, tilt: 0, scale: 1, x: 0, y: 0 },
  behind: { turn: 0, tilt: 0, scale: 1, x: 0, y: 0 },
};
const TURN_STEP = 7.5;
const MARGIN = 46; // pixels around the aircraft
const TOUCH = 22; // pixels
const NEAR = 1.8; // times what fits: devices are shown too
const MM_LARGEST = 6; // thickest line, pixels, at the scale that fits

interface Point {
  x: number;
  y: number;
  depth: number; // towards the eye
}

interface Target extends Point {
  key: string;
  reach: number;
}

interface Ink {
  ink: string;
  paper: string;
  rule: string;
  quiet: string;
  lit: string;
  error: string;
}

function inks(): Ink {
  const style = getComputedStyle(document.documentElement);
  const of = (name: string) => style.getPropertyValue(`--${name}`).trim();
  return {
    ink: of("ink"),
    paper: of("paper"),
    rule: of("rule"),
    quiet: of("quiet"),
    lit: of("lit"),
    error: of("error"),
  };
}

function axes(eye: Eye) {
  const turn = (eye.turn * Math.PI) / 180;
  const tilt = (eye.tilt * Math.PI) / 180;
  const [c, s, ct, st] = [Math.cos(turn), Math.sin(turn), Math.cos(tilt), Math.sin(tilt)];
  return { right: [-s, c, 0], up: [-c * st, -s * st, ct], near: [c * ct, s * ct, st] } as const;
}

const dot = (a: readonly number[], b: readonly number[]) =>
  (a[0] ?? 0) * (b[0] ?? 0) + (a[1] ?? 0) * (b[1] ?? 0) + (a[2] ?? 0) * (b[2] ?? 0);

class Drawing {
  eye: Eye;
  targets: Target[] = [];
  points: Point[] = [];
  fit = 1; // pixels per mm at scale 1
  grain = 1; // letters and signs grow with the page's own
  private pending = false;

  constructor(
    readonly canvas: HTMLCanvasElement,
    readonly look: Look,
  ) {
    this.eye = { ...EYES[look] };
  }

  draw(): void {
    if (!this.pending) {
      this.pending = true;
      requestAnimationFrame(() => {
        this.pending = false;
        const craft = aircraft.value;
        if (craft && this.canvas.isConnected) {
          this.paint(craft);
        }
      });
    }
  }

  // Where everything is on the screen. What fits is found for the view as it opens and is kept while
  // it is turned: nothing grows or shrinks under the hand.
  private project(craft: Aircraft, width: number, height: number): void {
    const first = EYES[this.look];
    const { right, up, near } = axes(this.eye);
    const opened = axes(first);
    const [left, bottom] = [craft.nodes.map((n) => dot(n.at, opened.right)), craft.nodes.map((n) => dot(n.at, opened.up))];
    const [x0, x1, y0, y1] = [low_of(left), high_of(left), low_of(bottom), high_of(bottom)];
    this.fit = Math.min(
      Math.max(40, width - 2 * MARGIN) / Math.max(1, x1 - x0),
      Math.max(40, height - 2 * MARGIN - 20) / Math.max(1, y1 - y0),
    );
    // Turned about the middle of all nodes, which stands in the middle of what is seen at first.
    const middle = [0, 1, 2].map((i) => {
      const values = craft.nodes.map((node) => node.at[i] ?? 0);
      return (low_of(values) + high_of(values)) / 2;
    });
    const shift = [(x0 + x1) / 2 - dot(middle, opened.right), (y0 + y1) / 2 - dot(middle, opened.up)] as const;
    const scale = this.fit * this.eye.scale;
    this.points = craft.nodes.map((node) => {
      const from = node.at.map((value, i) => value - (middle[i] ?? 0));
      return {
        x: width / 2 + this.eye.x + (dot(from, right) - shift[0]) * scale,
        y: height / 2 + this.eye.y - (dot(from, up) - shift[1]) * scale,
        depth: dot(from, near),
      };
    });
  }

  // Brings what is lit near, because somebody asked for it.
  near(): void {
    const now = lit.value;
    const craft = aircraft.value;
    const box = this.canvas.getBoundingClientRect();
    if (!craft) {
      return;
    }
    const wanted = new Set<number>(now.nodes);
    now.segments.forEach((_, index) => {
      const segment = craft.segments[index];
      if (segment) {
        wanted.add(segment.a).add(segment.b);
      }
    });
    craft.things.forEach((thing) => {
      if (thing.node !== null && now.own.has(thing.key)) {
        wanted.add(thing.node);
      }
    });
    const points = [...wanted].flatMap((node) => this.points[node] ?? []);
    if (points.length === 0) {
      return;
    }
    const [xs, ys] = [points.map((p) => p.x), points.map((p) => p.y)];
    const [wide, tall] = [high_of(xs) - low_of(xs), high_of(ys) - low_of(ys)];
    const by = Math.min((box.width - 160) / Math.max(wide, 1), (box.height - 160) / Math.max(tall, 1), 6 / this.eye.scale);
    this.move(box.width / 2 - (low_of(xs) + high_of(xs)) / 2, box.height / 2 - (low_of(ys) + high_of(ys)) / 2);
    this.zoom(box.width / 2, box.height / 2, by);
  }

  private paint(craft: Aircraft): void {
    const ratio = devicePixelRatio;
    const box = this.canvas.getBoundingClientRect();
    const [width, height] = [box.width, box.height];
    if (this.canvas.width !== Math.round(width * ratio) || this.canvas.height !== Math.round(height * ratio)) {
      this.canvas.width = Math.round(width * ratio);
      this.canvas.height = Math.round(height * ratio);
    }
    const pen = this.canvas.getContext("2d");
    if (!pen) {
      return;
    }
    const ink = inks();
    this.grain = Number.parseFloat(getComputedStyle(document.documentElement).fontSize) / 16 || 1;
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.fillStyle = ink.paper;
    pen.fillRect(0, 0, width, height);
    pen.lineCap = "round";
    pen.lineJoin = "round";
    this.project(craft, width, height);
    this.targets = [];
    this.paint_zones(craft, pen, ink);
    this.paint_segments(craft, pen, ink);
    this.paint_shells(craft, pen, ink);
    const labels = this.paint_things(craft, pen, ink);
    this.paint_labels(labels, pen, ink, width, height);
    this.paint_compass(pen, ink, height);
  }

  // A zone: the outline of its nodes, dashed, for it is no thing; its name at its top.
  private paint_zones(craft: Aircraft, pen: CanvasRenderingContext2D, ink: Ink): void {
    const by_zone = new Map<string, Point[]>();
    craft.nodes.forEach((node, i) => {
      const point = this.points[i];
      if (point) {
        by_zone.set(node.zone, [...(by_zone.get(node.zone) ?? []), point]);
      }
    });
    pen.setLineDash([5, 4]);
    pen.lineWidth = 1;
    pen.strokeStyle = ink.rule;
    for (const [zone, points] of by_zone) {
      if (points.length < 2) {
        continue;
      }
      const outline = hull(points.flatMap((p) => ring(p, 13)));
      pen.beginPath();
      outline.forEach((p, i) => (i === 0 ? pen.moveTo(p.x, p.y) : pen.lineTo(p.x, p.y)));
      pen.closePath();
      pen.globalAlpha = lit.value.own.has(zone) ? 1 : 0.55;
      pen.stroke();
      pen.globalAlpha = 1;
    }
    pen.setLineDash([]);
  }

  private thickness(diameter: number): number {
    const grown = (diameter * this.fit * this.eye.scale) / 1;
    return Math.max(1.2, grown, Math.min(MM_LARGEST, diameter * 0.26) * Math.min(2.5, Math.sqrt(this.eye.scale)) * this.grain);
  }

  private paint_segments(craft: Aircraft, pen: CanvasRenderingContext2D, ink: Ink): void {
    const now = lit.value;
    const marks = trial_marks.value;
    const order = craft.segments
      .map((segment, index) => ({ segment, index, a: this.points[segment.a], b: this.points[segment.b] }))
      .filter((row) => row.a && row.b)
      .sort((one, two) => (one.a?.depth ?? 0) + (one.b?.depth ?? 0) - (two.a?.depth ?? 0) - (two.b?.depth ?? 0));
    const deepest = this.points.reduce((most, point) => Math.max(most, Math.abs(point.depth)), 1);
    for (const { segment, index, a, b } of order) {
      if (!a || !b) {
        continue;
      }
      const wide = this.thickness(segment.diameter);
      const wires = craft.at_segment[index] ?? [];
      const supplied = wires.filter((wire) => marks.dark.has(wire)).length;
      const line = (style: string, width: number, dash: number[] = []) => {
        pen.strokeStyle = style;
        pen.lineWidth = width;
        pen.setLineDash(dash);
        pen.beginPath();
        pen.moveTo(a.x, a.y);
        pen.lineTo(b.x, b.y);
        pen.stroke();
      };
      const own = now.segments.get(index);
      line(ink.paper, wide + 3); // what is in front parts what is behind
      pen.globalAlpha = 0.66 + (0.34 * ((a.depth + b.depth) / 2 + deepest)) / (2 * deepest);
      line(segment.conductors === 0 ? ink.rule : ink.ink, wide, segment.conductors === 0 ? [2, 5] : []);
      pen.globalAlpha = 1;
      if (own !== undefined) {
        // Outlined, as on paper: a thick line with a gap, so that its own thickness stays seen.
        line(ink.lit, wide + (own ? 9 : 5));
        line(ink.paper, wide + (own ? 4 : 2.5));
        line(own ? ink.lit : ink.ink, wide, own ? [] : [6, 4]);
      }
      if (supplied > 0) {
        line(ink.paper, wide);
        line(ink.ink, Math.max(1, wide * 0.6), [3, 5]);
      }
      if (marks.failed.has(segment.key)) {
        this.cross(pen, ink, (a.x + b.x) / 2, (a.y + b.y) / 2);
      }
    }
    pen.setLineDash([]);
  }

  private cross(pen: CanvasRenderingContext2D, ink: Ink, x: number, y: number): void {
    pen.setLineDash([]);
    for (const [style, width] of [
      [ink.paper, 7],
      [ink.error, 3.5],
    ] as const) {
      pen.strokeStyle = style;
      pen.lineWidth = width;
      pen.beginPath();
      pen.moveTo(x - 8, y - 8);
      pen.lineTo(x + 8, y + 8);
      pen.moveTo(x + 8, y - 8);
      pen.lineTo(x - 8, y + 8);
      pen.stroke();
    }
  }

  // A disconnect: a double bar across the segment it cuts, near the node where it sits.
  private paint_shells(craft: Aircraft, pen: CanvasRenderingContext2D, ink: Ink): void {
    const told = new Set<string>();
    for (const shell of craft.shells) {
      const segment = shell.segment === null ? undefined : craft.segments[shell.segment];
      const at = segment && `${shell.disconnect} ${segment.key}`;
      if (!segment || !at || told.has(at)) {
        continue;
      }
      told.add(at);
      const from = this.points[shell.node === segment.b ? segment.b : segment.a];
      const to = this.points[shell.node === segment.b ? segment.a : segment.b];
      if (!from || !to) {
        continue;
      }
      const length = Math.hypot(to.x - from.x, to.y - from.y) || 1;
      const [dx, dy] = [(to.x - from.x) / length, (to.y - from.y) / length];
      const share = Math.min(0.3, 16 / length) * length;
      const [x, y] = [from.x + dx * share, from.y + dy * share];
      const parts = craft.shells.filter((one) => one.disconnect === shell.disconnect);
      const own = lit.value.own.has(shell.disconnect) || parts.some((one) => lit.value.own.has(one.key));
      for (const gap of [-2.6, 2.6]) {
        pen.strokeStyle = own ? ink.lit : ink.ink;
        pen.lineWidth = own ? 3.5 : 2;
        pen.beginPath();
        pen.moveTo(x + dx * gap - dy * 8, y + dy * gap + dx * 8);
        pen.lineTo(x + dx * gap + dy * 8, y + dy * gap - dx * 8);
        pen.stroke();
      }
      if (trial_marks.value.failed.has(shell.disconnect) || parts.some((one) => trial_marks.value.failed.has(one.key))) {
        this.cross(pen, ink, x, y);
      }
      this.targets.push({ key: shell.disconnect, x, y, depth: 0, reach: 11 });
    }
  }

  // Things in rows below their node, each kind with its own shape.
  private paint_things(craft: Aircraft, pen: CanvasRenderingContext2D, ink: Ink): Label[] {
    const now = lit.value;
    const marks = trial_marks.value;
    const labels: Label[] = [];
    const marked = (key: string) =>
      now.own.has(key) || now.kin.has(key) || marks.dark.has(key) || marks.failed.has(key);
    // Smaller where the whole aircraft is: a phone.
    const small = Math.min(1, Math.max(0.6, (this.fit * this.eye.scale) / 0.08));
    const size = Math.min(11, 4 + 1.6 * this.eye.scale) * this.grain * small;
    const pitch = size + 3.5;
    const counts = new Map<number, number>();
    const totals = new Map<number, number>();
    for (const thing of craft.things) {
      const far = thing.kind !== "unit" && this.eye.scale < NEAR;
      if (thing.node !== null && (!far || marked(thing.key))) {
        totals.set(thing.node, (totals.get(thing.node) ?? 0) + 1);
      }
    }
    for (const [i, point] of this.points.entries()) {
      const node = craft.nodes[i];
      const own = node && (now.own.has(node.key) || now.nodes.has(i));
      pen.fillStyle = own ? ink.lit : ink.paper;
      pen.strokeStyle = own ? ink.lit : ink.ink;
      pen.lineWidth = 1.2;
      pen.beginPath();
      pen.arc(point.x, point.y, own ? 5 : 2.6, 0, 2 * Math.PI);
      pen.fill();
      pen.stroke();
      if (node) {
        labels.push({ text: node.key, x: point.x, y: point.y - 9, rank: own ? 0 : 5, small: true, bold: Boolean(own) });
      }
    }
    for (const thing of craft.things) {
      const at = thing.node === null ? undefined : this.points[thing.node];
      if (!at || thing.node === null) {
        continue;
      }
      if (thing.kind !== "unit" && this.eye.scale < NEAR && !marked(thing.key)) {
        continue; // from afar there is room for boxes alone
      }
      const nth = counts.get(thing.node) ?? 0;
      counts.set(thing.node, nth + 1);
      const across = Math.min(6, totals.get(thing.node) ?? 1);
      const x = at.x + ((nth % across) - (across - 1) / 2) * pitch;
      const y = at.y + 10 + Math.floor(nth / across) * pitch;
      const own = now.own.has(thing.key);
      const kin = now.kin.has(thing.key);
      const dark = marks.dark.has(thing.key);
      this.shape(pen, thing.kind, x, y, size, {
        line: own || kin ? ink.lit : dark ? ink.rule : ink.ink,
        fill: own ? ink.lit : dark ? ink.paper : thing.kind === "unit" ? ink.ink : ink.paper,
        dash: dark ? [2, 2] : [],
        heavy: own || kin,
      });
      if (marks.failed.has(thing.key)) {
        this.cross(pen, ink, x, y);
      }
      this.targets.push({ key: thing.key, x, y, depth: at.depth, reach: size / 2 + 2 });
      const rank = own || marks.failed.has(thing.key) ? 0 : kin || dark ? 2 : thing.kind === "unit" ? 4 : 6;
      labels.push({
        text: dark ? `${thing.key} dark` : thing.key,
        x,
        y: y + size / 2 + 10,
        rank,
        small: rank > 3,
        bold: own,
      });
    }
    for (const zone of craft.zones.keys()) {
      const points = craft.nodes.flatMap((node, i) => (node.zone === zone ? [this.points[i]] : [])).filter((p) => p !== undefined);
      if (points.length > 1) {
        const top = points.reduce((best, point) => (point.y < best.y ? point : best));
        labels.push({ text: `zone ${zone}`, x: top.x, y: top.y - 22, rank: 3, small: true, bold: false, quiet: true });
      }
    }
    return labels;
  }

  private shape(
    pen: CanvasRenderingContext2D,
    kind: string,
    x: number,
    y: number,
    size: number,
    how: { line: string; fill: string; dash: number[]; heavy: boolean },
  ): void {
    const r = size / 2;
    pen.beginPath();
    if (kind === "switchgear") {
      pen.moveTo(x, y - r);
      pen.lineTo(x + r, y);
      pen.lineTo(x, y + r);
      pen.lineTo(x - r, y);
      pen.closePath();
    } else if (kind === "protection") {
      pen.rect(x - r * 0.5, y - r, r, size);
    } else if (kind === "bus") {
      pen.rect(x - r, y - r * 0.35, size, r * 0.7);
    } else if (kind === "ground_point") {
      pen.moveTo(x - r, y - r * 0.6);
      pen.lineTo(x + r, y - r * 0.6);
      pen.lineTo(x, y + r);
      pen.closePath();
    } else if (kind === "antenna") {
      pen.arc(x, y, r * 0.8, 0, 2 * Math.PI);
    } else {
      pen.rect(x - r, y - r, size, size);
    }
    pen.setLineDash(how.dash);
    pen.fillStyle = how.fill;
    pen.strokeStyle = how.line;
    pen.lineWidth = how.heavy ? 2.4 : 1.2;
    pen.fill();
    pen.stroke();
    pen.setLineDash([]);
  }

  // The most wanted first; one that would lie on another is left out.
  private paint_labels(labels: Label[], pen: CanvasRenderingContext2D, ink: Ink, width: number, height: number): void {
    const taken: { left: number; top: number; right: number; bottom: number; thing?: boolean }[] = this.targets.map((one) => ({
      left: one.x - one.reach,
      top: one.y - one.reach,
      right: one.x + one.reach,
      bottom: one.y + one.reach,
      thing: true,
    }));
    const most = 60 + 60 * this.eye.scale;
    let drawn = 0;
    for (const label of [...labels].sort((a, b) => a.rank - b.rank)) {
      if (label.rank > 5 && this.eye.scale < NEAR) {
        continue;
      }
      const tall = (label.small ? 12 : 14) * this.grain;
      pen.font = `${label.bold ? "bold " : ""}${tall}px B612, "DejaVu Sans", sans-serif`;
      const wide = pen.measureText(label.text).width;
      const x = Math.min(width - wide / 2 - 2, Math.max(wide / 2 + 2, label.x));
      const box = { left: x - wide / 2 - 2, top: label.y - tall / 2 - 1, right: x + wide / 2 + 2, bottom: label.y + tall / 2 + 1 };
      const away = box.right < 0 || box.left > width || box.bottom < 0 || box.top > height;
      const covered = taken.some((b) => !(b.thing && label.rank < 4) && box.left < b.right && box.right > b.left && box.top < b.bottom && box.bottom > b.top);
      if (away || (covered && label.rank > 0) || drawn > most) {
        continue;
      }
      drawn++;
      taken.push(box);
      pen.textAlign = "center";
      pen.textBaseline = "middle";
      pen.lineWidth = 4;
      pen.lineJoin = "round";
      pen.strokeStyle = ink.paper;
      pen.strokeText(label.text, x, label.y);
      pen.fillStyle = label.rank === 0 || label.bold ? ink.lit : label.quiet ? ink.quiet : ink.ink;
      pen.fillText(label.text, x, label.y);
    }
  }

  // Which way is forward, right and up.
  private paint_compass(pen: CanvasRenderingContext2D, ink: Ink, height: number): void {
    const { right, up } = axes(this.eye);
    const [x, y] = [44, height - 44];
    const ways = [
      ["nose", [-1, 0, 0]],
      ["right", [0, 1, 0]],
      ["up", [0, 0, 1]],
    ] as const;
    pen.font = '12px B612, "DejaVu Sans", sans-serif';
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    for (const [name, way] of ways) {
      const [dx, dy] = [dot(way, right), -dot(way, up)];
      if (Math.hypot(dx, dy) < 0.2) {
        continue;
      }
      pen.strokeStyle = ink.quiet;
      pen.lineWidth = 1.5;
      pen.beginPath();
      pen.moveTo(x, y);
      pen.lineTo(x + dx * 20, y + dy * 20);
      pen.stroke();
      pen.fillStyle = ink.quiet;
      pen.fillText(name, x + dx * 33, y + dy * 30);
    }
  }

  // What lies under a finger: things before nodes before segments.
  hit(craft: Aircraft, x: number, y: number): string {
    let best = "";
    let least = TOUCH;
    for (const target of this.targets) {
      const away = Math.hypot(target.x - x, target.y - y) - target.reach;
      if (away < Math.min(least, 8)) {
        least = away;
        best = target.key;
      }
    }
    if (best !== "") {
      return best;
    }
    this.points.forEach((point, i) => {
      const away = Math.hypot(point.x - x, point.y - y);
      if (away < Math.min(least, 9)) {
        least = away;
        best = craft.nodes[i]?.key ?? "";
      }
    });
    if (best !== "") {
      return best;
    }
    for (const segment of craft.segments) {
      const a = this.points[segment.a];
      const b = this.points[segment.b];
      if (a && b) {
        const away = to_line(a, b, x, y) - this.thickness(segment.diameter) / 2;
        if (away < least) {
          least = away;
          best = segment.key;
        }
      }
    }
    return best;
  }

  zoom(x: number, y: number, by: number): void {
    const box = this.canvas.getBoundingClientRect();
    const scale = Math.min(40, Math.max(0.5, this.eye.scale * by));
    const share = scale / this.eye.scale;
    const [cx, cy] = [box.width / 2, box.height / 2];
    this.eye.x = x - cx - (x - cx - this.eye.x) * share;
    this.eye.y = y - cy - (y - cy - this.eye.y) * share;
    this.eye.scale = scale;
    this.draw();
  }

  move(dx: number, dy: number): void {
    this.eye.x += dx;
    this.eye.y += dy;
    this.draw();
  }

  turn(by: number, tilt: number): void {
    this.eye.turn += by;
    this.eye.tilt = Math.min(90, Math.max(-90, this.eye.tilt + tilt));
    this.draw();
  }
}

function low_of(values: number[]): number {
  return values.reduce((least, value) => Math.min(least, value), Infinity);
}

function high_of(values: number[]): number {
  return values.reduce((most, value) => Math.max(most, value), -Infinity);
}

interface Label {
  text: string;
  x: number;
  y: number;
  rank: number; // 0 is drawn whatever it covers
  small: boolean;
  bold: boolean;
  quiet?: boolean;
}

function to_line(a: Point, b: Point, x: number, y: number): number {
  const [dx, dy] = [b.x - a.x, b.y - a.y];
  const long = dx * dx + dy * dy;
  const share = long === 0 ? 0 : Math.min(1, Math.max(0, ((x - a.x) * dx + (y - a.y) * dy) / long));
  return Math.hypot(x - a.x - share * dx, y - a.y - share * dy);
}

function ring(point: Point, radius: number): { x: number; y: number }[] {
  return Array.from({ length: 8 }, (_, i) => ({
    x: point.x + radius * Math.cos((i * Math.PI) / 4),
    y: point.y + radius * Math.sin((i * Math.PI) / 4),
  }));
}

// Andrew's monotone chain.
function hull(points: { x: number; y: number }[]): { x: number; y: number }[] {
  const sorted = [...points].sort((a, b) => a.x - b.x || a.y - b.y);
  const half = (list: { x: number; y: number }[]) => {
    const out: { x: number; y: number }[] = [];
    for (const p of list) {
      for (;;) {
        const a = out.at(-2);
        const b = out.at(-1);
        if (!a || !b || (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x) > 0) {
          break;
        }
        out.pop();
      }
      out.push(p);
    }
    return out.slice(0, -1);
  };
  return [...half(sorted), ...half([...sorted].reverse())];
}

// The next thing by key, so that keys alone reach all of them.
function next_thing(craft: Aircraft, step: number): void {
  const keys = [
    ...craft.things.map((thing) => thing.key),
    ...craft.segments.map((segment) => segment.key),
    ...craft.nodes.map((node) => node.key),
  ];
  const now = keys.findIndex((key) => lit.value.own.has(key));
  select(keys[(now + step + keys.length) % keys.length] ?? "");
}

export function Airframe({ look }: { look: Look }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const drawing = useRef<Drawing | null>(null);
  const fingers = useRef(new Map<number, { x: number; y: number }>());
  const moved = useRef(0);

  useEffect(() => {
    aircraft_wanted.value++;
    return () => {
      aircraft_wanted.value--;
    };
  }, []);
  useEffect(() => {
    const element = canvas.current;
    if (!element) {
      return undefined;
    }
    const mine = new Drawing(element, look);
    drawing.current = mine;
    const stop = effect(() => {
      void [aircraft.value, lit.value, trial_marks.value, theme.value];
      mine.draw();
    });
    const sizes = new ResizeObserver(() => mine.draw());
    sizes.observe(element);
    const wheel = (event: WheelEvent) => {
      event.preventDefault();
      const box = element.getBoundingClientRect();
      mine.zoom(event.clientX - box.left, event.clientY - box.top, event.deltaY < 0 ? 1.2 : 1 / 1.2);
    };
    element.addEventListener("wheel", wheel, { passive: false });
    const light = matchMedia("(prefers-color-scheme: dark)");
    const again = () => mine.draw();
    light.addEventListener("change", again);
    void document.fonts.load('14px B612').then(again); // a canvas doesn't wait for its letters
    return () => {
      stop();
      sizes.disconnect();
      element.removeEventListener("wheel", wheel);
      light.removeEventListener("change", again);
    };
  }, [look]);

  const at = (event: PointerEvent) => {
    const box = canvas.current?.getBoundingClientRect();
    return { x: event.clientX - (box?.left ?? 0), y: event.clientY - (box?.top ?? 0) };
  };
  const down = (event: PointerEvent) => {
    canvas.current?.setPointerCapture(event.pointerId);
    fingers.current.set(event.pointerId, at(event));
    moved.current = 0;
  };
  const move = (event: PointerEvent) => {
    const mine = drawing.current;
    const from = fingers.current.get(event.pointerId);
    if (!from || !mine) {
      return;
    }
    const to = at(event);
    moved.current += Math.abs(to.x - from.x) + Math.abs(to.y - from.y);
    const other = [...fingers.current].find(([id]) => id !== event.pointerId)?.[1];
    if (other) {
      const before = Math.hypot(from.x - other.x, from.y - other.y);
      mine.move((to.x - from.x) / 2, (to.y - from.y) / 2);
      mine.zoom((to.x + other.x) / 2, (to.y + other.y) / 2, before > 0 ? Math.hypot(to.x - other.x, to.y - other.y) / before : 1);
    } else if (look === "turn" && !event.shiftKey) {
      mine.turn(-(to.x - from.x) * 0.4, (to.y - from.y) * 0.4);
    } else {
      mine.move(to.x - from.x, to.y - from.y);
    }
    fingers.current.set(event.pointerId, to);
  };
  const up = (event: PointerEvent) => {
    fingers.current.delete(event.pointerId);
    const craft = aircraft.value;
    if (moved.current < 8 && event.type === "pointerup" && craft && drawing.current) {
      const { x, y } = at(event);
      const key = drawing.current.hit(craft, x, y);
      if (show_failing.value && key !== "") {
        void toggle(key);
      } else {
        select(key);
      }
    }
  };
  const keys = (event: KeyboardEvent) => {
    const mine = drawing.current;
    const craft = aircraft.value;
    if (!mine || !craft || event.ctrlKey || event.metaKey || event.altKey) {
      return;
    }
    const arrows: Record<string, [number, number]> = {
      ArrowLeft: [-1, 0],
      ArrowRight: [1, 0],
      ArrowUp: [0, -1],
      ArrowDown: [0, 1],
    };
    const arrow = arrows[event.key];
    if (arrow) {
      if (look === "turn" && !event.shiftKey) {
        mine.turn(-arrow[0] * TURN_STEP, arrow[1] * TURN_STEP);
      } else {
        mine.move(-arrow[0] * 40, -arrow[1] * 40);
      }
    } else if (event.key === "+" || event.key === "=" || event.key === "-") {
      const box = mine.canvas.getBoundingClientRect();
      mine.zoom(box.width / 2, box.height / 2, event.key === "-" ? 1 / 1.2 : 1.2);
    } else if (event.key === "c") {
      mine.near();
    } else if (event.key === "Home") {
      mine.eye = { ...EYES[look] };
      mine.draw();
    } else if (event.key === "n" || event.key === "p") {
      next_thing(craft, event.key === "n" ? 1 : -1);
    } else if (event.key === "Enter" && show_failing.value && lit.value.own.size > 0) {
      void toggle([...lit.value.own][0] ?? "");
    } else {
      return;
    }
    event.preventDefault();
  };
  const craft = aircraft.value;
  return (
    <>
      <canvas
        class="airframe"
        ref={canvas}
        tabIndex={0}
        role="application"
        aria-label={`${LOOKS[look]}. Arrows ${look === "turn" ? "turn" : "move"}, plus and minus enlarge, c comes close to what is lit, Home goes back, n and p go from thing to thing.`}
        data-turn={look}
        onPointerDown={down}
        onPointerMove={move}
        onPointerUp={up}
        onPointerCancel={up}
        onKeyDown={keys}
      />
      {craft && lit.value.kind !== "" && (
        <button type="button" class="near" onClick={() => drawing.current?.near()}>
          come close
        </button>
      )}
      {!craft && <p class="plain over">{aircraft_problem.value || "Finding every way ..."}</p>}
      {craft?.nodes.length === 0 && <p class="plain over">No node yet: where things are is written in the tables node and segment.</p>}
    </>
  );
}
