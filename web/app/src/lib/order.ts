// What stands of a chart's events, in the order of play: the same rules as the
// server's fold, so that the Pad shows what will be counted.
//
// Corrections form a tree by target and base; the deepest leaf stands, ties by
// the greater id. Order is (period, −clock, pad, n); an event without a clock
// takes that of its pad's previous one; "after" puts it right behind another.
import type { Bodies, Event, When } from './events';

export interface Standing {
  event: Event;
  body: unknown;
  when: When;
  revision: string; // the correction that stands, or the event's own id
  voided: boolean;
  trail: Event[]; // its corrections, oldest first
  period?: number; // where inOrder put it
  clock?: number;
}

interface Revision { event: Event; base: string; depth: number; busy: boolean }

const isCorrection = (type: string): boolean => type === 'amended' || type === 'voided' || type === 'reassigned';

// standing works out what stands of every original.
export function standing(all: Iterable<Event>): Standing[] {
  const originals = new Map<string, Event>();
  const trees = new Map<string, Revision[]>();
  const hang = (target: string, base: string, event: Event) =>
    trees.set(target, [...(trees.get(target) ?? []), { event, base, depth: -1, busy: false }]);
  for (const e of all) {
    if (!isCorrection(e.type)) originals.set(e.id, e);
    else if (e.type === 'reassigned') for (const t of new Set((e.body as Bodies['reassigned']).targets)) hang(t, '', e);
    else hang((e.body as Bodies['voided']).target, (e.body as Bodies['voided']).base, e);
  }
  return [...originals.values()].map((e) => revise(e, trees.get(e.id)));
}

function revise(e: Event, tree: Revision[] | undefined): Standing {
  const s: Standing = { event: e, body: e.body, when: e.when ?? {}, revision: e.id, voided: false, trail: [] };
  if (!tree) return s;
  tree.sort((a, b) => (a.event.id < b.event.id ? -1 : 1));
  const byID = new Map(tree.map((r) => [r.event.id, r]));
  const depthOf = (r: Revision): number => {
    if (r.depth >= 0) return r.depth;
    if (r.busy) return 0;
    r.busy = true;
    if (r.event.type === 'reassigned') r.base = deepestBefore(r);
    const base = byID.get(r.base);
    const below = r.base === e.id ? 0 : base ? depthOf(base) : -1;
    r.busy = false;
    r.depth = r.base === e.id || below > 0 ? below + 1 : 0;
    return r.depth;
  };
  // A reassignment names no base: it rests on the deepest revision before it.
  const deepestBefore = (r: Revision): string => {
    let best = e.id;
    let deepest = 0;
    for (const o of tree) {
      if (o.event.id >= r.event.id) break;
      const d = depthOf(o);
      if (d >= deepest && d > 0) [best, deepest] = [o.event.id, d];
    }
    return best;
  };
  let leaf: Revision | undefined;
  for (const r of tree) if (depthOf(r) > 0 && r.depth >= (leaf?.depth ?? 0)) leaf = r;
  const chain: Revision[] = [];
  for (let at = leaf; at; at = byID.get(at.base)) chain.unshift(at);
  for (const r of chain) apply(s, r.event);
  s.trail = tree.map((r) => r.event);
  return s;
}

function apply(s: Standing, e: Event): void {
  s.revision = e.id;
  if (e.type === 'voided') s.voided = true;
  else if (e.type === 'reassigned') {
    const b = e.body as Bodies['reassigned'];
    s.body = replaced(s.body, b.from, b.to);
  } else {
    const b = e.body as Bodies['amended'];
    s.voided = false;
    if (b.body !== undefined) s.body = b.body;
    if (b.when) s.when = b.when;
  }
}

// playerFields are where a player's id may stand in a body.
const playerFields = ['defender', 'opponent', 'shooter', 'lost_by', 'blocked_by', 'steal_by', 'rebound_by', 'in', 'out'];

function replaced(body: unknown, from: string, to: string): unknown {
  const out = { ...(body as Record<string, unknown>) };
  for (const f of playerFields) if (out[f] === from) out[f] = to;
  if (Array.isArray(out.players)) out.players = out.players.map((p) => (p === from ? to : p));
  if (out.details) {
    const details = { ...(out.details as Record<string, string[]>) };
    for (const d of ['left', 'on']) if (details[d]) details[d] = details[d].map((p) => (p === from ? to : p));
    out.details = details;
  }
  return out;
}

interface Place { s: Standing; period: number; clock: number }

// inOrder sorts what stands into the order of play; what is voided falls away
// and still holds its place for what stands behind it.
export function inOrder(list: Standing[], all: Iterable<Event>, lengthOf: (period: number) => number): Standing[] {
  const clocks = clocksOf(list, all, lengthOf);
  const here = new Set(list.map((s) => s.event.id));
  const row: Place[] = [];
  const behind = new Map<string, Place[]>();
  for (const s of list) {
    const p: Place = { s, ...clocks.get(s.event.id)! };
    const after = s.event.after;
    if (!after || !here.has(after)) row.push(p);
    else behind.set(after, [...(behind.get(after) ?? []), p]);
  }
  const out: Standing[] = [];
  const put = (p: Place) => {
    p.s.period = p.period;
    p.s.clock = p.clock === Infinity ? undefined : p.clock;
    if (!p.s.voided) out.push(p.s);
    const followers = behind.get(p.s.event.id) ?? [];
    behind.delete(p.s.event.id);
    followers.sort(byPlace).forEach((f) => put({ s: f.s, period: p.period, clock: p.clock }));
  };
  row.sort(byPlace).forEach(put);
  return out;
}

function byPlace(a: Place, b: Place): number {
  return (
    a.period - b.period ||
    (a.clock === b.clock ? 0 : b.clock - a.clock) ||
    (a.s.event.pad < b.s.event.pad ? -1 : a.s.event.pad > b.s.event.pad ? 1 : 0) ||
    a.s.event.n - b.s.event.n ||
    (a.s.event.id < b.s.event.id ? -1 : 1)
  );
}

type Moment = { period: number; clock: number };

function clocksOf(list: Standing[], all: Iterable<Event>, lengthOf: (period: number) => number): Map<string, Moment> {
  const stands = new Map(list.map((s) => [s.event.id, s.when]));
  const pads = new Map<string, Event[]>();
  for (const e of all) {
    const pad = pads.get(e.pad);
    if (pad) pad.push(e);
    else pads.set(e.pad, [e]);
  }
  const out = new Map<string, Moment>();
  for (const steps of pads.values()) {
    steps.sort((a, b) => a.n - b.n || (a.id < b.id ? -1 : 1));
    let period = 0;
    let clock = Infinity;
    for (const e of steps) {
      const w = stands.get(e.id) ?? e.when ?? {};
      if (w.period && w.clock !== undefined) [period, clock] = [w.period, w.clock];
      else if (w.period && w.period !== period) [period, clock] = [w.period, lengthOf(w.period)];
      else if (!w.period && w.clock !== undefined) clock = w.clock;
      out.set(e.id, { period, clock });
    }
  }
  return out;
}
