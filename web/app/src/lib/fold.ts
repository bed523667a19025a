// The Pad's own fold of its chart, for display: the server's fold is the one
// that counts, and a test compares the two.
import { draft, type Action, type Bodies, type ChanceBegan, type ChanceEnded, type ChartScoped, type Event, type GameOpened, type Player, type ShotsTaken, type When } from './events';
import { inOrder, standing, type Standing } from './order';
import { nextBall, periodLength, points, ruleSet, type Next } from './rules';
import { readingOf, type Reading, type RuleSet, type Vocabulary } from './vocabulary';

export interface ActionRow extends Action {
  id: string;
  reading: Reading;
  effort: number;
  by: string; // who charted it
  row: Standing;
}

export interface ChanceRow {
  id: string;
  offence: string;
  defence: string;
  origin: string;
  tempo: string;
  period: number;
  clock?: number;
  actions: ActionRow[];
  end?: ChanceEnded;
  endRow?: Standing;
  shots: { body: ShotsTaken; row: Standing }[];
  made: number; // free throws
  attempted: number;
  points: number;
  by: string;
  row: Standing;
  lineUps: Record<string, string[]>;
  scoreBefore: Record<string, number>;
}

export interface Chart {
  info?: GameOpened;
  scope: ChartScoped;
  rules: RuleSet;
  players: Map<string, Player>;
  chances: ChanceRow[];
  score: Record<string, number>;
  lineUps: Record<string, string[]>;
  schemes: Record<string, Bodies['scheme-set']>;
  films: Bodies['film-linked'][];
  anchors: Bodies['film-anchored'][];
  notes: string[];
  when: When; // of the last event
  last?: Standing; // the last event in the order of play
  closed: boolean;
  rows: Map<string, Standing>;
}

export const bothEnds = (c: Chart): boolean => c.scope.ends !== 'one' && !c.scope.focus;

export function other(c: Chart, team: string): string {
  return team === c.info?.home.id ? (c.info?.away.id ?? '') : (c.info?.home.id ?? '');
}

export function fold(v: Vocabulary, all: Map<string, Event>, game?: GameOpened): Chart {
  const events = [...all.values()];
  const facts = standing(events);
  const info = openingOf(facts) ?? game;
  const rules = ruleSet(v, info?.rules);
  const order = inOrder(facts, events, (p) => periodLength(rules, p));
  const chart: Chart = {
    info, rules, scope: {}, players: new Map((info?.players ?? []).map((p) => [p.id, p])), chances: [], score: {}, lineUps: {},
    schemes: {}, films: [], anchors: [], notes: [], when: {}, closed: false, rows: new Map(facts.map((s) => [s.event.id, s]))
  };
  const find = chancesOf(v, chart, order);
  walk(chart, order, find);
  return chart;
}

// openingOf adds up the openings: players are united, the rest is the latest's.
function openingOf(facts: Standing[]): GameOpened | undefined {
  let sum: GameOpened | undefined;
  const opened = facts.filter((s) => s.event.type === 'game-opened' && !s.voided).sort((a, b) => (a.event.id < b.event.id ? -1 : 1));
  for (const s of opened) {
    const g = s.body as GameOpened;
    const players = new Map([...(sum?.players ?? []), ...(g.players ?? [])].map((p) => [p.id, p]));
    sum = { ...g, players: [...players.values()] };
  }
  return sum;
}

function chancesOf(v: Vocabulary, chart: Chart, order: Standing[]): (id: string) => ChanceRow | undefined {
  const merged = new Map<string, string>();
  for (const s of order) {
    if (s.event.type === 'chance-merged') {
      const m = s.body as Bodies['chance-merged'];
      merged.set(m.drop, m.keep);
    }
  }
  const kept = (id: string): string => {
    for (let i = 0; i < merged.size && merged.has(id); i++) id = merged.get(id)!;
    return id;
  };
  const byID = new Map<string, ChanceRow>();
  for (const s of order) {
    if (s.event.type !== 'chance-began' || kept(s.event.id) !== s.event.id) continue;
    const b = s.body as ChanceBegan;
    const row: ChanceRow = {
      id: s.event.id, offence: b.offence, defence: other(chart, b.offence), origin: b.origin ?? '', tempo: b.tempo ?? '',
      period: s.period ?? 0, clock: s.clock, actions: [], shots: [], made: 0, attempted: 0, points: 0, by: s.event.charter, row: s,
      lineUps: {}, scoreBefore: {}
    };
    byID.set(row.id, row);
    chart.chances.push(row);
  }
  const find = (id: string) => byID.get(kept(id));
  for (const s of order) place(v, s, find);
  for (const c of byID.values()) {
    c.made = (c.end?.made ?? 0) + c.shots.reduce((n, x) => n + x.body.made, 0);
    c.attempted = (c.end?.attempted ?? 0) + c.shots.reduce((n, x) => n + x.body.attempted, 0);
    c.points = points(c.end?.end ?? '', c.made);
  }
  return find;
}

function place(v: Vocabulary, s: Standing, find: (id: string) => ChanceRow | undefined): void {
  if (s.event.type === 'action') {
    const b = s.body as Action;
    const c = find(b.chance);
    if (!c) return;
    const before = b.defender ? c.actions.filter((a) => a.defender === b.defender).length : 0;
    c.actions.push({
      ...b, id: s.event.id, reading: readingOf(v, b.kind, b.outcome, b.details?.foul?.[0]), effort: before + 1, by: s.event.charter, row: s
    });
  } else if (s.event.type === 'chance-ended') {
    const b = s.body as ChanceEnded;
    const c = find(b.chance);
    if (!c) return;
    const ours = b.chance === c.id;
    const theirs = c.end?.chance === c.id;
    if (c.end && ((theirs && !ours) || (theirs === ours && c.endRow!.event.id < s.event.id))) return;
    c.end = b;
    c.endRow = s;
  } else if (s.event.type === 'shots-taken') {
    find((s.body as ShotsTaken).chance)?.shots.push({ body: s.body as ShotsTaken, row: s });
  }
}

function walk(chart: Chart, order: Standing[], find: (id: string) => ChanceRow | undefined): void {
  const home = chart.info?.home.id ?? '';
  const away = chart.info?.away.id ?? '';
  chart.score = { [home]: 0, [away]: 0 };
  for (const s of order) {
    if (s.period) chart.when = { period: s.period, clock: s.clock };
    chart.last = s;
    const b = s.body as never;
    switch (s.event.type) {
      case 'chart-scoped': chart.scope = b; break;
      case 'lineup-set': chart.lineUps = { ...chart.lineUps, [(b as Bodies['lineup-set']).team]: (b as Bodies['lineup-set']).players }; break;
      case 'substituted': substitute(chart, b); break;
      case 'scheme-set': chart.schemes = { ...chart.schemes, [(b as Bodies['scheme-set']).team]: b }; break;
      case 'film-linked': chart.films.push(b); break;
      case 'film-anchored': chart.anchors.push(b); break;
      case 'noted': chart.notes.push((b as Bodies['noted']).text); break;
      case 'game-closed': chart.closed = true; break;
      case 'penalty-shots': add(chart, (b as Bodies['penalty-shots']).team, (b as Bodies['penalty-shots']).made); break;
      case 'score-noted':
        if (!bothEnds(chart)) chart.score = { [home]: (b as Bodies['score-noted']).home, [away]: (b as Bodies['score-noted']).away };
        break;
      case 'chance-began': {
        const c = find(s.event.id);
        if (!c || c.id !== s.event.id) break;
        c.lineUps = chart.lineUps;
        c.scoreBefore = { ...chart.score };
        add(chart, c.offence, c.points);
      }
    }
  }
}

function add(chart: Chart, team: string, n: number): void {
  chart.score[team] = (chart.score[team] ?? 0) + n;
}

function substitute(chart: Chart, b: Bodies['substituted']): void {
  const five = (chart.lineUps[b.team] ?? []).filter((p) => p !== b.out && p !== b.in);
  if (b.in && five.length < 5) five.push(b.in);
  chart.lineUps = { ...chart.lineUps, [b.team]: five };
}

// upcoming is who has the ball after a chance, and how he came by it.
export function upcoming(c: ChanceRow): Next {
  if (!c.end) return { offence: c.defence, origin: '' };
  return nextBall(c.offence, c.defence, c.end, c.shots.at(-1)?.body);
}

// owed is how many free throws of a chance nobody has charted yet.
export function owed(c: ChanceRow): number {
  if (!c.end) return 0;
  const fouled = c.actions.some((a) => a.outcome === 'fouled' && !['to-give', 'stop-break', 'off-ball'].includes(a.details?.foul?.[0] ?? ''));
  if (c.end.end === 'free-throws') return Math.max(0, (c.attempted > 2 ? 3 : 2) - c.attempted);
  if (c.end.end.startsWith('made') && fouled) return Math.max(0, 1 - c.attempted);
  return 0;
}

// revised makes the amendment that gives an event another body.
export const revised = (row: Standing, body: unknown, why?: string) =>
  draft('amended', { target: row.event.id, base: row.revision, body, ...(why ? { why } : {}) });

export const voiding = (row: Standing, why?: string) =>
  draft('voided', { target: row.event.id, base: row.revision, ...(why ? { why } : {}) });
