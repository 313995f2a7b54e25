// What belongs together: a wire with its ends and its way, a segment with its wires, a box with its
// pins. So whatever is touched in one view is lit in all of them. Learnt once a change of the job.
import { computed, effect, signal } from "@preact/signals";
import { api, type Geometry } from "./api";
import { asked_column, attempt, changes, current_job, selected } from "./state";

export interface Cable {
  net: string;
  way: number[];
  wires: string[];
}

// The geometry with ways to look things up.
export interface Aircraft {
  job: string;
  act: number;
  nodes: { key: string; at: [number, number, number]; zone: string; module: string; what: string }[];
  segments: {
    key: string;
    a: number;
    b: number;
    zone: string;
    length: number;
    diameter: number;
    cables: number;
    conductors: number;
  }[];
  things: { key: string; kind: string; node: number | null; what: string }[];
  shells: { key: string; disconnect: string; segment: number | null; node: number | null }[];
  zones: Map<string, { name: string; degc: number | null }>;
  wires: Map<string, { cable: Cable; from: string; to: string }>;
  nets: Map<string, Cable[]>;
  at_segment: string[][]; // wires
  at_thing: Map<string, string[]>; // wires that end there, by tag
  at_pin: Map<string, string[]>;
  through: Map<string, string[]>; // wires that pass a disconnect or shell
  node_by_key: Map<string, number>;
  segment_by_key: Map<string, number>;
  thing_by_key: Map<string, number>;
}

function put(map: Map<string, string[]>, key: string, value: string): void {
  const list = map.get(key);
  if (list) {
    list.push(value);
  } else {
    map.set(key, [value]);
  }
}

// "AD1.J1-2" and "AD1.PWR" belong to AD1.
export function owner_of(pin: string): string {
  return pin.split(".", 1)[0] ?? pin;
}

function learn(job: string, answer: Geometry): Aircraft {
  const craft: Aircraft = {
    job,
    act: answer.act,
    nodes: answer.nodes.map(([key, x, y, z, zone, module, what]) => ({
      key,
      at: [x ?? 0, y ?? 0, z ?? 0],
      zone,
      module,
      what,
    })),
    segments: [],
    things: answer.things.map(([key, kind, node, what]) => ({ key, kind, node, what })),
    shells: answer.shells.map(([key, disconnect, segment, node]) => ({ key, disconnect, segment, node })),
    zones: new Map(answer.zones.map(([key, name, degc]) => [key, { name, degc }])),
    wires: new Map(),
    nets: new Map(),
    at_segment: answer.segments.map(() => []),
    at_thing: new Map(),
    at_pin: new Map(),
    through: new Map(),
    node_by_key: new Map(answer.nodes.map(([key], i) => [key, i])),
    segment_by_key: new Map(answer.segments.map(([key], i) => [key, i])),
    thing_by_key: new Map(answer.things.map(([key], i) => [key, i])),
  };
  craft.segments = answer.segments.map(([key, a, b, zone, length, diameter, cables, conductors]) => ({
    key,
    a: a ?? 0,
    b: b ?? 0,
    zone,
    length: length ?? 0,
    diameter: diameter ?? 0,
    cables,
    conductors,
  }));
  for (const [net, way, wires] of answer.cables) {
    const cable: Cable = { net, way, wires: wires.map(([key]) => key) };
    craft.nets.set(net, [...(craft.nets.get(net) ?? []), cable]);
    for (const [key, from, to] of wires) {
      craft.wires.set(key, { cable, from, to });
      for (const pin of [from, to]) {
        put(craft.at_thing, owner_of(pin), key);
        put(craft.at_pin, pin, key);
      }
      for (const segment of way) {
        craft.at_segment[segment]?.push(key);
      }
    }
  }
  for (const [shell, wire] of answer.passes) {
    const row = craft.shells[shell];
    if (row) {
      put(craft.through, row.key, wire);
      put(craft.through, row.disconnect, wire);
    }
  }
  return craft;
}

export const aircraft = signal<Aircraft | null>(null);
export const aircraft_wanted = signal(0); // pages that show something of it
export const aircraft_problem = signal("");

effect(() => {
  void changes.value;
  const job = current_job.value;
  if (job === "" || aircraft_wanted.value === 0) {
    return;
  }
  void attempt(() => api.geometry(job)).then((answer) => {
    if (current_job.value !== job) {
      return;
    }
    if (answer) {
      aircraft.value = learn(job, answer);
      aircraft_problem.value = "";
    } else {
      aircraft.value = null;
      aircraft_problem.value = "Nothing can be shown before what can't be read is mended.";
    }
  });
});

export interface Lit {
  own: Set<string>; // the thing, and what it is made of
  kin: Set<string>; // what it leads to
  segments: Map<number, boolean>; // own: true, kin: false
  nodes: Set<number>;
  kind: string;
}

const DARKNESS: Lit = { own: new Set(), kin: new Set(), segments: new Map(), nodes: new Set(), kind: "" };

function add_wire(craft: Aircraft, lit: Lit, key: string, own: boolean): void {
  const wire = craft.wires.get(key);
  if (!wire) {
    return;
  }
  (own ? lit.own : lit.kin).add(key);
  for (const pin of [wire.from, wire.to]) {
    (own ? lit.own : lit.kin).add(pin);
    lit.kin.add(owner_of(pin));
  }
  for (const segment of wire.cable.way) {
    lit.segments.set(segment, own || (lit.segments.get(segment) ?? false));
  }
}

function add_node(craft: Aircraft, lit: Lit, node: number): void {
  lit.nodes.add(node);
  for (const thing of craft.things) {
    if (thing.node === node) {
      lit.kin.add(thing.key);
    }
  }
}

// What is lit when `key` is touched.
export function light_of(craft: Aircraft | null, key: string): Lit {
  if (key === "") {
    return DARKNESS;
  }
  const lit: Lit = { own: new Set([key]), kin: new Set(), segments: new Map(), nodes: new Set(), kind: "" };
  if (!craft) {
    return lit;
  }
  const node = craft.node_by_key.get(key);
  const segment = craft.segment_by_key.get(key);
  const thing = craft.thing_by_key.get(owner_of(key));
  if (craft.wires.has(key)) {
    lit.kind = "wire";
    add_wire(craft, lit, key, true);
  } else if (craft.at_pin.has(key)) {
    lit.kind = "pin";
    craft.at_pin.get(key)?.forEach((wire) => add_wire(craft, lit, wire, false));
    lit.own.add(owner_of(key));
  } else if (segment !== undefined) {
    lit.kind = "segment";
    lit.segments.set(segment, true);
    craft.at_segment[segment]?.forEach((wire) => lit.kin.add(wire));
  } else if (node !== undefined) {
    lit.kind = "node";
    add_node(craft, lit, node);
  } else if (thing !== undefined) {
    lit.kind = craft.things[thing]?.kind ?? "";
    lit.own.add(owner_of(key));
    craft.at_thing.get(key)?.forEach((wire) => add_wire(craft, lit, wire, false));
  } else if (craft.through.has(key)) {
    lit.kind = "disconnect";
    for (const shell of craft.shells) {
      if (shell.key === key || shell.disconnect === key) {
        lit.own.add(shell.key);
        if (shell.segment !== null) {
          lit.segments.set(shell.segment, true);
        }
      }
    }
    craft.through.get(key)?.forEach((wire) => lit.kin.add(wire));
  } else if (craft.nets.has(key)) {
    lit.kind = "circuit";
    craft.nets.get(key)?.forEach((cable) => {
      cable.wires.forEach((wire) => add_wire(craft, lit, wire, true));
    });
  }
  return lit;
}

export const lit = computed(() => light_of(aircraft.value, selected.value));

// The words of a drawn thing's key: "BK1 W0256" is both, "AUD.J1-1 1" the first reading of a pin.
export function words_of(key: string): string[] {
  return key.split(" ").filter((word) => word !== "" && !/^\d+$/.test(word));
}

export function select(key: string, column = ""): void {
  asked_column.value = column;
  selected.value = key;
}
