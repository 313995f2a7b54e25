// The face of a connector from the side of the wires, and the board with the way of one wire.
import type { Board, Face } from "./bench_data";

// Points of the outline around all cavities. A D is wider on the side of cavity 1.
function outline(face: Face, rim: number): string {
  const x = face.w / 2 + rim;
  const y = face.h / 2 + rim;
  const slant = face.form === "d" ? Math.min(rim * 0.5, x / 3) : 0;
  const wide_below = (face.ways[0]?.[2] ?? 0) > 0;
  const top = wide_below ? x - slant : x;
  const foot = wide_below ? x : x - slant;
  return `${-top},${-y} ${top},${-y} ${foot},${y} ${-foot},${y}`;
}

export function FaceView({ face, cavity, label }: { face: Face; cavity: string; label: string }) {
  if (face.ways.length === 0) {
    return <p class="quiet">{face.name}: single leads, no face</p>;
  }
  const pitch = face.ways.length === 1 ? 5 : face.pitch;
  const ring = pitch * 0.44;
  const rim = pitch * 1.05;
  const half_w = face.w / 2 + rim * 1.15;
  const half_h = face.h / 2 + rim * 1.15;
  const longest = Math.max(...face.ways.map(([name]) => name.length));
  const size = Math.min(ring * 1.1, (ring * 2.5) / longest);
  const round = Math.hypot(face.w, face.h) / 2 + rim;
  const circle = face.form === "circle" || face.form === "coax";
  const first = face.ways[0];
  const box = circle
    ? `${-round * 1.1} ${-round * 1.1} ${round * 2.2} ${round * 2.2}`
    : `${-half_w} ${-half_h} ${2 * half_w} ${2 * half_h}`;
  const ordered = [...face.ways].sort((a, b) => Number(a[0] === cavity) - Number(b[0] === cavity));
  return (
    <figure class="face">
      <svg viewBox={box} role="img" aria-label={`${label}, cavity ${cavity}, side of the wires`}>
        {circle ? (
          <circle class="shell" r={round} stroke-width={pitch * 0.06} />
        ) : (
          <polygon class="shell" points={outline(face, rim)} stroke-width={pitch * 0.06} />
        )}
        {ordered.map(([name, x, y]) => (
          <g key={name} class={name === cavity ? "cavity here" : "cavity"}>
            <circle cx={x} cy={y} r={name === cavity ? ring * 1.12 : ring} stroke-width={pitch * 0.05} />
            <text x={x} y={y + size * 0.36} font-size={name === cavity ? size * 1.1 : size}>
              {name}
            </text>
          </g>
        ))}
        {first && face.ways.length > 1 && (
          <path
            class="mark"
            d={`M${first[1] - ring} ${first[2] - ring * 1.9}h${ring * 2}l${-ring} ${ring * 0.8}z`}
          />
        )}
      </svg>
      <figcaption>
        side of the wires, {face.half}
        {face.measured ? "" : "; places by number, not measured"}
      </figcaption>
    </figure>
  );
}

function points(line: number[]): string {
  const out: string[] = [];
  for (let i = 0; i + 1 < line.length; i += 2) {
    out.push(`${line[i]},${line[i + 1]}`);
  }
  return out.join(" ");
}

// `leaves`: names told at their ends.
export function BoardView({ board, way, leaves }: { board: Board; way: number[]; leaves: string[] }) {
  if (board.arms.length === 0) {
    return <p class="quiet">This module is not laid on a board.</p>;
  }
  const all = board.arms.flatMap((arm) => arm.line);
  const xs = all.filter((_, i) => i % 2 === 0);
  const ys = all.filter((_, i) => i % 2 === 1);
  const edge = Math.max(board.w, board.h) * 0.06;
  const left = Math.min(...xs) - edge;
  const top = Math.min(...ys) - edge;
  const width = Math.max(...xs) - left + edge;
  const height = Math.max(...ys) - top + edge;
  const size = Math.max(width / 30, height / 11);
  const lit = new Set(way);
  const ends = way
    .map((arm) => board.arms[arm])
    .filter((arm) => (arm?.leaves.length ?? 0) > 0)
    .map((arm, i) => {
      const line = arm?.line ?? [];
      const name = leaves.filter((leaf) => arm?.leaves.includes(leaf)).join(", ") || (arm?.name ?? "");
      return { name, x: line[line.length - 2] ?? 0, y: line[line.length - 1] ?? 0, key: `${i}` };
    });
  return (
    <figure class="way">
      <svg
        viewBox={`${left} ${top} ${width} ${height}`}
        role="img"
        aria-label={`On the board, ${leaves.join(" to ")}`}
      >
        {board.arms.map((arm, i) => (
          <polyline key={arm.name + i} points={points(arm.line)} class={lit.has(i) ? "lit" : ""} />
        ))}
        {ends.map((end) => (
          <g key={end.key}>
            <circle cx={end.x} cy={end.y} r={size * 0.45} />
            <text
              x={end.x}
              y={end.y + (end.y - top > height / 2 ? -size * 0.7 : size * 1.5)}
              font-size={size}
              text-anchor={
                end.x - left < width / 4 ? "start" : end.x - left > (3 * width) / 4 ? "end" : "middle"
              }
            >
              {end.name}
            </text>
          </g>
        ))}
      </svg>
      <figcaption>on the board, {board.seen}</figcaption>
    </figure>
  );
}
