// For a tablet at the board: one wire at a time in build order. What is ticked, noted, measured goes
// into the queue of this tablet first (bench_data.ts), so nothing waits for the desk.
import { signal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import * as data from "./bench_data";
import type { End, Item, Piece, Pull, Work } from "./bench_data";
import { BoardView, FaceView } from "./bench_face";
import { RecordPage } from "./bench_record";
import { RingPage } from "./bench_ring";
import { With, columns, saying, wanted_of, with_words } from "./bench_tool";
import { me } from "./me";
import { changes, current_job, link, place } from "./state";

const at = signal(-1); // item that is shown; -1: the next that is to be done
const asking = signal<"" | "problem" | "name">("");
const force = signal(""); // of pulled samples, as it is typed

// --- where we are -------------------------------------------------------------------------------

function next_open(work: Work, from: number): number {
  const open = (item: Item) => !data.done.value.has(`${item.op} ${item.key}`);
  const later = work.items.findIndex((item, i) => i >= from && open(item));
  return later >= 0 ? later : Math.max(0, work.items.findIndex(open));
}

// Goes on behind what this person ticked last.
function last_ticked(work: Work): number {
  const own = data.ticks.value.filter(
    (row) => row.module === work.module && row.person === data.person.value,
  );
  const row = own[own.length - 1];
  return row === undefined
    ? 0
    : Math.max(
        0,
        work.items.findIndex((item) => item.op === row.operation && item.key === (row.item ?? "")),
      );
}

function shown(work: Work): number {
  return at.value < 0
    ? next_open(work, last_ticked(work))
    : Math.min(at.value, work.items.length - 1);
}

// Items that belong together: one operation at one place.
function group_of(item: Item): string {
  return `${item.op} ${item.leaf}`;
}

interface Group {
  name: string;
  where: string;
  first: number;
  count: number;
  done: number;
}

function groups(work: Work): Group[] {
  const list: Group[] = [];
  let last = "";
  work.items.forEach((item, i) => {
    if (group_of(item) !== last) {
      last = group_of(item);
      const where = item.leaf;
      list.push({ name: work.ops[item.op]?.name ?? item.op, where, first: i, count: 0, done: 0 });
    }
    const group = list[list.length - 1];
    if (group) {
      group.count++;
      group.done += data.done.value.has(`${item.op} ${item.key}`) ? 1 : 0;
    }
  });
  return list;
}

// --- state of the queue -------------------------------------------------------------------------

export function Waiting() {
  const waiting = data.queue.value.length;
  const held = me.value?.signs_in
    ? data.queue.value.filter((one) => one.row.person !== data.person.value)
    : [];
  return (
    <div class="waiting">
      <p role="status" class={data.reachable.value && waiting === 0 ? "quiet" : "tell"}>
        {waiting === 0
          ? data.reachable.value
            ? "all is kept by the desk"
            : "the desk is out of reach; go on working"
          : `${waiting} ${waiting === 1 ? "entry waits" : "entries wait"} on this tablet to be sent` +
            (data.reachable.value ? "" : "; the desk is out of reach, go on working")}
        {held.length > 0 && `; ${held.length} by ${held[0]?.row.person}, who has to sign in`}
      </p>
      {data.trouble.value !== "" && (
        <p class="tell" role="alert">
          The desk says: {data.trouble.value}. Nothing is lost; it is sent again.
        </p>
      )}
      {!data.lasts.value && (
        <p class="tell" role="alert">
          This browser keeps nothing: ticks last only while this page stays open.
        </p>
      )}
      {!data.stays.value && !isSecureContext && (
        <p class="tell">
          No secure connection: ticks last only while this page stays open. Don't close or reload it
          while entries wait.
        </p>
      )}
      {data.refused.value.map((fault, i) => (
        <p class="tell" role="alert" key={i}>
          Not taken: {fault.words} ({`${fault.row.operation ?? ""} ${fault.row.item ?? ""}`})
          <button
            type="button"
            onClick={() => (data.refused.value = data.refused.value.filter((one) => one !== fault))}
          >
            understood
          </button>
        </p>
      ))}
    </div>
  );
}

function Who() {
  if (me.value?.signs_in) {
    return <span class="hand">{data.person.value}</span>;
  }
  return asking.value === "name" ? (
    <form
      class="hand"
      onSubmit={(event) => {
        event.preventDefault();
        const field = event.currentTarget.elements.namedItem("name") as HTMLInputElement;
        data.call_oneself(field.value);
        asking.value = "";
      }}
    >
      <input name="name" aria-label="Your name" value={data.person.value} autocomplete="off" />
      <button type="submit">that's me</button>
    </form>
  ) : (
    <button type="button" class="hand" onClick={() => (asking.value = "name")}>
      <small>works here </small>{data.person.value || "say who you are"}
    </button>
  );
}

// --- one item -----------------------------------------------------------------------------------

function Fact({ name, value }: { name: string; value: string }) {
  return value === "" ? null : (
    <>
      <dt>{name}</dt>
      <dd>{value}</dd>
    </>
  );
}

// "14" of "BK1C1.P-14" at the leaf "BK1C1.P".
function cavity_of(end: End, leaf: string): string {
  return end.at.startsWith(`${leaf}-`) ? end.at.slice(leaf.length + 1) : "";
}

// What is told of an end: of the one in hand what the operation wants, of the other where it is.
function EndView({ work, piece, name, end, per }: {
  work: Work;
  piece: Piece;
  name: string;
  end: 1 | 2;
  per: string; // "" for the end that is not in hand
}) {
  const prep = work.ends[`${name}/${end}`];
  const leaf = end === 1 ? piece.leaf1 : piece.leaf2;
  const face = work.faces[leaf];
  const here = per !== "";
  if (!prep) {
    return (
      <section class="end">
        <h3>{end === 1 ? piece.from : piece.to}</h3>
      </section>
    );
  }
  const crimped = here && per !== "insert";
  return (
    <section class={here ? "end here" : "end"}>
      <h3>
        {here && <span class="badge">this end</span>} {prep.at}
      </h3>
      {face && <FaceView face={face} cavity={cavity_of(prep, leaf)} label={leaf} />}
      {here && (
        <dl>
          {crimped && (
            <>
              <Fact name="slide on first" value={prep.slide_on.replace(/; /g, ", then ")} />
              <Fact name="cut back" value={prep.cut_back} />
              <Fact name="strip" value={prep.strip_mm === null ? "" : `${prep.strip_mm} mm`} />
            </>
          )}
          <Fact name="contact" value={prep.contact} />
          {crimped && (
            <>
              <Fact name="crimp with" value={prep.tool} />
              <Fact name="gap" value={prep.gap === "" ? "" : `${prep.gap} mm`} />
            </>
          )}
          <Fact name="insert with" value={prep.insert} />
          <Fact name="not known" value={prep.note} />
        </dl>
      )}
    </section>
  );
}

function PieceView({ work, item }: { work: Work; item: Item }) {
  const piece = work.pieces[item.piece];
  if (!piece) {
    return <p class="huge">{item.key}</p>;
  }
  const per = work.ops[item.op]?.per ?? "";
  const others = Object.entries(work.pieces)
    .filter(([name, one]) => one.cut_as === item.piece && name !== item.piece)
    .map(([, one]) => (one.colour === "" ? one.wire : `${one.wire} (${one.colour})`));
  const cut =
    piece.cut_mm === null ? "" : `${piece.cut_mm} mm +${piece.plus_mm ?? 0} -${piece.minus_mm ?? 0}`;
  const ends: (1 | 2)[] = item.end === 2 ? [2, 1] : [1, 2];
  const wire = (
    <div class="wire">
      <p class="huge">{piece.wire}</p>
      {item.end === 0 && per === "piece" && <p class="huge">{cut}</p>}
      <dl>
        <Fact name="label" value={piece.number} />
        <Fact name="wire" value={`${piece.awg === "" ? "" : `AWG ${piece.awg} `}${piece.part}`} />
        <Fact name="colour" value={piece.colour} />
        <Fact name="cut" value={cut} />
        <Fact name="reel" value={piece.reel} />
        <Fact name="with it" value={others.join(", ")} />
        <Fact name="circuit" value={piece.net} />
      </dl>
    </div>
  );
  const board = <BoardView board={work.board} way={piece.way} leaves={[piece.leaf1, piece.leaf2]} />;
  if (item.end === 0) {
    return (
      <>
        {wire}
        <p class="between">
          {piece.from} <span class="quiet">to</span> {piece.to}
        </p>
        <div class="large">{board}</div>
      </>
    );
  }
  return (
    <>
      {wire}
      <div class="ends">
        <EndView work={work} piece={piece} name={item.piece} end={ends[0] ?? 1} per={per} />
        <div>
          <EndView work={work} piece={piece} name={item.piece} end={ends[1] ?? 2} per="" />
          {board}
        </div>
      </div>
    </>
  );
}

// Crimps made to be pulled apart, before any of the harness.
function PullView({ item, pull }: { item: Item; pull: Pull }) {
  const least = pull.least_n;
  const told = force.value === "" ? NaN : Number(force.value.replace(",", "."));
  return (
    <>
      <p class="huge">
        contact {pull.contact}, AWG {pull.awg}
      </p>
      <dl>
        <Fact name="crimp with" value={pull.tool} />
        <Fact name="samples" value={`${pull.samples}`} />
        <Fact name="each holds" value={least === null ? "no published force" : `${least} N at least`} />
        <Fact name="source" value={pull.source} />
      </dl>
      {!data.done.value.has(`${item.op} ${item.key}`) && (
        <div class="entry">
          <label>
            least force at which a sample let go, N
            <input
              name="force"
              inputMode="decimal"
              autocomplete="off"
              value={force.value}
              onInput={(event) => (force.value = event.currentTarget.value)}
            />
          </label>
        </div>
      )}
      {least !== null && told < least && (
        <p class="verdict bad" role="status">
          ✗ below {least} N: nothing is crimped with this until the cause is found
        </p>
      )}
    </>
  );
}

// A step that says what it wants first; "": it may be ticked.
function lacks(item: Item): string {
  if (!item.pull) {
    return "";
  }
  const told = force.value.trim() === "" ? NaN : Number(force.value.replace(",", "."));
  return !(told > 0) || !isFinite(told)
    ? "say the force"
    : told < (item.pull.least_n ?? 0)
      ? "too little force"
      : "";
}

// Work without a wire: a segment to tie, a connector to close, the whole harness.
function PlaceView({ work, item }: { work: Work; item: Item }) {
  const arms = work.board.arms
    .map((arm, i) => ({ arm, i }))
    .filter(({ arm }) => arm.name === item.key || arm.leaves.includes(item.key))
    .map(({ i }) => i);
  return (
    <>
      <p class="huge">{item.key || work.name}</p>
      <div class="large">
        <BoardView board={work.board} way={arms} leaves={[item.key]} />
      </div>
    </>
  );
}

// --- acts ---------------------------------------------------------------------------------------

function about(work: Work, item: Item): data.BenchRow {
  return { module: work.module, operation: item.op, item: item.key };
}

async function tick(work: Work, item: Item, index: number): Promise<void> {
  await data.add("bench_tick", {
    ...about(work, item),
    built: item.built,
    ...columns(wanted_of(work, item)),
    ...(item.pull ? { pull_n: Number(force.value.replace(",", ".")) } : {}),
  });
  force.value = "";
  at.value = next_open(work, index);
}

// The picture as JPEG of at most 1,600 pixels: what shows a crimp and still goes over a weak link.
async function small_picture(file: File): Promise<string> {
  const image = await createImageBitmap(file);
  const scale = Math.min(1, 1600 / Math.max(image.width, image.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(image.width * scale));
  canvas.height = Math.max(1, Math.round(image.height * scale));
  canvas.getContext("2d")?.drawImage(image, 0, 0, canvas.width, canvas.height);
  return canvas.toDataURL("image/jpeg", 0.82).replace(/^[^,]*,/, "");
}

async function take_photo(work: Work, item: Item, input: HTMLInputElement): Promise<void> {
  const file = input.files?.[0];
  input.value = "";
  if (!file) {
    return;
  }
  try {
    await data.add("bench_photo", about(work, item), await small_picture(file));
  } catch (error) {
    data.trouble.value = `this picture can't be read (${String(error)})`;
  }
}

function Problem({ work, item }: { work: Work; item: Item }) {
  return (
    <form
      class="problem"
      onSubmit={(event) => {
        event.preventDefault();
        const field = event.currentTarget.elements.namedItem("words") as HTMLTextAreaElement;
        if (field.value.trim() !== "") {
          void data.add("bench_note", { ...about(work, item), words: field.value.trim() });
          asking.value = "";
        }
      }}
    >
      <label>
        What is wrong with {item.key || work.name}?
        <textarea name="words" rows={3} />
      </label>
      <button type="submit">note it</button>
      <button type="button" onClick={() => (asking.value = "")}>
        leave it
      </button>
    </form>
  );
}

function Notes({ work, item }: { work: Work; item: Item }) {
  const here = (row: data.BenchRow) =>
    row.module === work.module && row.operation === item.op && (row.item ?? "") === item.key;
  const shots = data.photos.value.filter(here);
  const unsent = new Map(data.queue.value.map((one) => [one.row.photo, one.data]));
  return (
    <>
      {data.problems.value.filter(here).map((note) => (
        <p class="tell" key={`${note.note}`}>
          Problem: {note.words} <small>{note.person}</small>
          <button
            type="button"
            onClick={() =>
              void data.add("bench_note", {
                ...about(work, item),
                words: "settled",
                settles: note.note ?? "",
              })
            }
          >
            settled
          </button>
        </p>
      ))}
      {shots.length > 0 && (
        <p class="shots">
          {shots.map((shot) => {
            const own = unsent.get(shot.photo ?? null);
            const job = encodeURIComponent(current_job.value);
            return (
              <img
                key={`${shot.photo}`}
                alt={`photo of ${item.key || work.name} by ${shot.person}`}
                src={
                  own === undefined && shot.hash
                    ? `/api/bench/photo?job=${job}&hash=${shot.hash}`
                    : own === undefined
                      ? "data:,"
                      : `data:image/jpeg;base64,${own}`
                }
              />
            );
          })}
        </p>
      )}
    </>
  );
}

function Acts({ work, item, index }: { work: Work; item: Item; index: number }) {
  const row = data.done.value.get(`${item.op} ${item.key}`);
  return (
    <div class="acts">
      <button type="button" disabled={index === 0} onClick={() => (at.value = index - 1)}>
        back
      </button>
      <button
        type="button"
        disabled={index + 1 >= work.items.length}
        onClick={() => (at.value = index + 1)}
      >
        skip
      </button>
      <button type="button" onClick={() => (asking.value = "problem")}>
        problem
      </button>
      <label class="button">
        photo
        <input
          type="file"
          accept="image/*"
          capture="environment"
          onChange={(event) => void take_photo(work, item, event.currentTarget)}
        />
      </label>
      {row === undefined ? (
        <button
          type="button"
          class="tick"
          disabled={lacks(item) !== ""}
          onClick={() => void tick(work, item, index)}
        >
          {lacks(item) || "✓ done"}
        </button>
      ) : (
        <button
          type="button"
          class="undo"
          onClick={() =>
            void data.add("bench_tick", { ...about(work, item), undoes: row.tick ?? "" })
          }
        >
          ✓ done by {row.person} - take back
          {with_words(row) !== "" && <small> {with_words(row)}</small>}
        </button>
      )}
    </div>
  );
}

function WorkPage({ work }: { work: Work }) {
  const sight = useRef<HTMLDivElement>(null);
  const now = at.value;
  useEffect(() => {
    sight.current?.scrollTo(0, 0);
    saying.value = false;
    force.value = "";
  }, [now]);
  useEffect(() => sight.current?.scrollTo(0, 0), [data.done.value.size]);
  if (work.items.length === 0) {
    return <p class="plain">There is nothing to build in {work.name}.</p>;
  }
  const index = shown(work);
  const item = work.items[index];
  if (!item) {
    return null;
  }
  const list = groups(work);
  const group = list.filter((one) => one.first <= index).at(-1);
  const all_done = data.done.value.size >= work.items.length;
  return (
    <>
      <header class="topline">
        <a class="button" href={link(current_job.value, "bench")}>
          {work.module}
        </a>
        <h1>
          {work.ops[item.op]?.name ?? item.op}
          {item.leaf !== "" && ` at ${item.leaf}`}
          <small>
            {" "}
            {index - (group?.first ?? 0) + 1} of {group?.count}
          </small>
        </h1>
        <a class="button" href={link(current_job.value, "bench", `${work.module}/ring`)}>
          ring out
        </a>
        <Who />
      </header>
      <progress value={data.done.value.size} max={work.items.length} aria-label="ticked" />
      {all_done && <p class="tell">All of {work.name} is ticked.</p>}
      <div class="item" ref={sight}>
        {item.pull ? (
          <PullView item={item} pull={item.pull} />
        ) : item.piece === "" ? (
          <PlaceView work={work} item={item} />
        ) : (
          <PieceView work={work} item={item} />
        )}
        <Notes work={work} item={item} />
        <details class="groups">
          <summary>
            all steps ({data.done.value.size} of {work.items.length} done)
          </summary>
          <ul>
            {list.map((one) => (
              <li key={one.first}>
                <button
                  type="button"
                  onClick={(event) => {
                    at.value = next_open(work, one.first);
                    event.currentTarget.closest("details")?.removeAttribute("open");
                  }}
                >
                  {one.name} {one.where}{" "}
                  <small>
                    {one.done} of {one.count}
                  </small>
                </button>
              </li>
            ))}
          </ul>
        </details>
      </div>
      {asking.value === "problem" && <Problem work={work} item={item} />}
      {!data.done.value.has(`${item.op} ${item.key}`) && <With wanted={wanted_of(work, item)} />}
      <Acts work={work} item={item} index={index} />
    </>
  );
}

// --- modules ------------------------------------------------------------------------------------

function Bar({ name, value, of, words }: { name: string; value: number; of: number; words: string }) {
  const share = of > 0 ? Math.min(100, (100 * value) / of) : 0;
  return (
    <p class="bar">
      <span>{name}</span>
      <progress value={share} max={100} aria-label={name} />
      <span>
        {share.toFixed(0)} % <small>{words}</small>
      </span>
    </p>
  );
}

// How far the readings are: what stands in the way of shipping.
function unread(read: data.Read): (string | false)[] {
  const left = read.steps - read.good - read.bad;
  return [
    read.bad > 0 && `${read.bad} readings out of limits`,
    left > 0 && `${left} readings to take`,
    read.earlier > 0 && `${read.earlier} of an earlier design do not count`,
  ];
}

// All modules mated: readings alone.
function Installed({ read }: { read: data.Read }) {
  const words = unread(read).filter((word) => word);
  return (
    <li>
      <h2>
        aircraft <small>all modules mated</small>
      </h2>
      <Bar
        name="rung out"
        value={read.good}
        of={read.steps}
        words={words.length === 0 ? "all within limits" : words.join(", ")}
      />
      <p class="doors">
        <a class="button" href={link(current_job.value, "bench", data.INSTALLED)}>
          ring out
        </a>
      </p>
    </li>
  );
}

function Modules() {
  const list = data.modules.value?.modules;
  const installed = data.modules.value?.installed;
  if (!list) {
    return (
      <p class="plain">
        {data.trouble.value ||
          (data.reachable.value
            ? "Working out what is to be built ..."
            : "The desk is out of reach, and this tablet has not seen this job yet.")}
      </p>
    );
  }
  return (
    <div class="plain modules">
      <h1>What is to be built</h1>
      <Who />
      <Waiting />
      <ul>
        {list.map(({ module, name, progress }) => {
          const blocked = [
            ...unread(progress),
            progress.problems > 0 && `${progress.problems} problems noted`,
            progress.rebuilt > 0 && `${progress.rebuilt} steps changed since they were ticked`,
            progress.own > 0 && "own work inspected: counts for nothing",
          ].filter((words) => words);
          return (
            <li key={module}>
              <h2>
                {module} <small>{name}</small>
              </h2>
              <Bar
                name="made"
                value={progress.made_min}
                of={progress.total_min}
                words={`${progress.ticked} of ${progress.items} steps`}
              />
              <Bar
                name="proven"
                value={progress.proven_min}
                of={progress.total_min}
                words="inspected by another person"
              />
              <Bar
                name="shippable"
                value={progress.shippable_min}
                of={progress.total_min}
                words={blocked.length === 0 ? "nothing in the way" : blocked.join(", ")}
              />
              <p class="doors">
                <a class="button" href={link(current_job.value, "bench", module)}>
                  build
                </a>
                <a class="button" href={link(current_job.value, "bench", `${module}/ring`)}>
                  ring out
                </a>
                <a class="button" href={link(current_job.value, "bench", `${module}/record`)}>
                  record
                </a>
              </p>
            </li>
          );
        })}
        {installed && installed.steps > 0 && <Installed read={installed} />}
      </ul>
    </div>
  );
}

function Unknown() {
  return (
    <p class="plain">
      {data.trouble.value ||
        (data.reachable.value
          ? "Working out what is to be built ..."
          : "The desk is out of reach, and this tablet has not seen this module yet.")}
    </p>
  );
}

// "", "ring", "record"; the mated aircraft is only rung out.
function part_of(module: string, part: string): string {
  return module === data.INSTALLED ? "ring" : part;
}

async function refresh(job: string, module: string, part: string): Promise<void> {
  await data.begin(job);
  await (module === ""
    ? data.refresh_modules()
    : part === "ring"
      ? data.refresh_ring(module)
      : data.refresh_work(module));
}

export function Bench() {
  const [module = "", of_module = ""] = place.value.name.split("/");
  const part = part_of(module, of_module);
  const job = current_job.value;
  const change = changes.value;
  useEffect(() => {
    at.value = -1;
    asking.value = "";
    saying.value = false;
  }, [job, module]);
  useEffect(() => void refresh(job, module, part), [job, module, part, change]);
  useEffect(
    () =>
      data.when_sent(() => {
        void data.refresh_kept();
        if (module === "") {
          void data.refresh_modules();
        } else if (part === "ring") {
          void data.refresh_ring(module);
        }
      }),
    [job, module, part],
  );
  const work = data.work.value;
  return (
    <div class="bench">
      {module === "" ? (
        <Modules />
      ) : part === "ring" ? (
        <RingPage module={module} />
      ) : work?.module !== module ? (
        <Unknown />
      ) : part === "record" ? (
        <RecordPage work={work} />
      ) : (
        <WorkPage work={work} />
      )}
      {module !== "" && <Waiting />}
    </div>
  );
}
