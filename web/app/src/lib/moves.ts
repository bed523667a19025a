// From what the charter means to the events that say it. Nothing here knows
// keys, storage or the screen.
import { draft, uuid7, type Action, type ChanceEnded, type Draft, type Spot, type When } from './events';
import { bothEnds, other, revised, upcoming, voiding, type ActionRow, type ChanceRow, type Chart } from './fold';
import { isShot, type Next } from './rules';

// Moment is when something is charted, and behind what it stands where the
// clock alone would put it wrong.
export interface Moment { when: When; after?: string }

// Ball is the chance that entries go to: one that has begun, or the next, which
// begins with the first thing said of it.
export type Ball = { chance: ChanceRow; next?: undefined } | { chance?: undefined; next: Next & { when: When } };

// ballNow is the chance in play: the last one while it has no end, else the one
// that follows from its end.
export function ballNow(chart: Chart, period: number, start: string, arrow: string): Ball {
  const last = chart.chances.at(-1);
  if (last && !last.end && last.period === period) return { chance: last };
  const when: When = { period };
  if (!last || last.period !== period) {
    const offence = period === 1 || !arrow ? start : arrow;
    return { next: { offence: oneEnd(chart) ?? offence, origin: period === 1 ? 'jump' : 'dead-ball', when } };
  }
  const next = upcoming(last);
  const clock = last.endRow?.clock;
  if (clock !== undefined) when.clock = clock;
  if (last.endRow?.when.film) when.film = last.endRow.when.film;
  const only = oneEnd(chart);
  if (only && next.offence !== only) return { next: { offence: only, origin: '', when: { period } } };
  return { next: { ...next, when } };
}

// oneEnd is the only offence a chart of one end holds.
function oneEnd(chart: Chart): string | undefined {
  if (bothEnds(chart)) return undefined;
  const team = chart.scope.team ?? chart.players.get(chart.scope.focus ?? '')?.team;
  return team ? other(chart, team) : undefined;
}

export function offenceOf(ball: Ball): string {
  return ball.chance ? ball.chance.offence : ball.next.offence;
}

// begun makes sure the chance has begun: its id, and the event that begins it
// where it is still to come.
export function begun(ball: Ball, m: Moment, said: { origin?: string; tempo?: string } = {}): { id: string; drafts: Draft[] } {
  if (ball.chance) return { id: ball.chance.id, drafts: [] };
  const id = uuid7();
  const { offence, when } = ball.next;
  const origin = said.origin ?? ball.next.origin;
  const start: When = { ...m.when, ...(when.clock === undefined ? {} : { clock: when.clock }), ...(when.film ? { film: when.film } : {}) };
  const body = { offence, ...(origin ? { origin } : {}), ...(said.tempo ? { tempo: said.tempo } : {}) };
  return { id, drafts: [draft('chance-began', body, { id, when: start, ...(m.after ? { after: m.after } : {}) })] };
}

export type NewAction = Omit<Action, 'chance'>;

export function act(ball: Ball, a: NewAction, m: Moment): { drafts: Draft[]; id: string } {
  const { id: chance, drafts } = begun(ball, m);
  const id = uuid7();
  const after = drafts.length > 0 ? (m.after ? chance : undefined) : m.after;
  drafts.push(draft('action', { chance, ...a }, { id, when: m.when, ...(after ? { after } : {}) }));
  return { drafts, id };
}

// fromContest is who took the shot, where a contest in the chance says whose shot
// it was; likewise its spot.
function fromContest(ball: Ball, body: Omit<ChanceEnded, 'chance'>): { shooter?: string; spot?: Spot } {
  const contest = ball.chance?.actions.findLast((a) => a.kind === 'contest');
  if (!contest || !isShot(body.end)) return {};
  return { ...(contest.opponent ? { shooter: contest.opponent } : {}), ...(contest.spot ? { spot: contest.spot } : {}) };
}

export function end(ball: Ball, body: Omit<ChanceEnded, 'chance'>, focus: string | undefined, m: Moment): Draft[] {
  const { id: chance, drafts } = begun(ball, m);
  const acted = focus ? (ball.chance?.actions.some((a) => a.defender === focus) ? 'acted' : 'not-tested') : undefined;
  const after = drafts.length > 0 ? (m.after ? chance : undefined) : m.after;
  drafts.push(draft('chance-ended', { chance, ...fromContest(ball, body), ...body, ...(acted ? { focus: acted } : {}) }, { when: m.when, ...(after ? { after } : {}) }));
  return drafts;
}

// pass leaves the chance in play without an end, because nobody saw it, and
// begins the next: it may be ended later.
export function pass(chart: Chart, ball: Ball, m: Moment): Draft[] {
  const { drafts } = begun(ball, m);
  const offence = other(chart, offenceOf(ball));
  drafts.push(draft('chance-began', { offence }, { when: m.when, ...(m.after ? { after: m.after } : {}) }));
  return drafts;
}

export function amend(a: ActionRow, change: Partial<NewAction>, why?: string): Draft {
  const { id: _id, reading: _r, effort: _e, by: _b, row, ...body } = a;
  const next = { ...body, ...change };
  for (const k of Object.keys(next) as (keyof typeof next)[]) if (next[k] === undefined) delete next[k];
  return revised(row, next, why);
}

export const dropAction = (a: ActionRow): Draft => voiding(a.row);

// dropChance takes a chance out with all that belongs to it.
export function dropChance(c: ChanceRow): Draft[] {
  const rows = [c.row, ...(c.endRow ? [c.endRow] : []), ...c.actions.map((a) => a.row), ...c.shots.map((s) => s.row)];
  return rows.map((r) => voiding(r));
}

// reassign puts a wrong player right over many actions in one step.
export function reassign(chart: Chart, from: string, to: string, count: number): { draft: Draft; rows: ActionRow[] } | null {
  const rows = chart.chances.flatMap((c) => c.actions).filter((a) => a.defender === from || a.opponent === from).slice(-count);
  if (rows.length === 0) return null;
  return { rows, draft: draft('reassigned', { from, to, targets: rows.map((a) => a.id) }) };
}

// join makes two neighbours one: the first is kept with the second's end, for
// the try went on.
export function join(first: ChanceRow, second: ChanceRow): Draft[] {
  const out: Draft[] = [draft('chance-merged', { keep: first.id, drop: second.id })];
  if (first.endRow && second.end) out.push(revised(first.endRow, { ...second.end, chance: first.id }, 'joined'));
  return out;
}

// split cuts a chance before one of its actions: the first half gets an end of
// its own, the second keeps the end that was charted.
export function split(c: ChanceRow, at: number, body: Omit<ChanceEnded, 'chance'>, offence: string, origin: string): Draft[] {
  const before = at > 0 ? c.actions[at - 1]!.id : c.id;
  const stop = uuid7();
  const id = uuid7();
  const when = at > 0 ? c.actions[at - 1]!.row : c.row;
  const moment: When = { period: when.period, ...(when.clock !== undefined ? { clock: when.clock } : {}) };
  const out: Draft[] = [
    draft('chance-ended', { chance: c.id, ...body }, { id: stop, when: moment, after: before }),
    draft('chance-began', { offence, ...(origin ? { origin } : {}) }, { id, when: moment, after: stop })
  ];
  for (const a of c.actions.slice(at)) out.push(amend(a, { chance: id } as Partial<NewAction>, 'split'));
  if (c.endRow) out.push(revised(c.endRow, { ...c.end!, chance: id }, 'split'));
  for (const s of c.shots) out.push(revised(s.row, { ...s.body, chance: id }, 'split'));
  return out;
}

// changeEnd gives an ended chance another end; who it was about stays where the
// new end has a place for it.
export function changeEnd(c: ChanceRow, body: Omit<ChanceEnded, 'chance'>): Draft[] {
  if (!c.endRow || !c.end) return [];
  const { shooter, spot, focus } = c.end;
  const kept = { ...(shooter && (isShot(body.end) || body.end === 'free-throws') ? { shooter } : {}), ...(spot && isShot(body.end) ? { spot } : {}), ...(focus ? { focus } : {}) };
  return [revised(c.endRow, { ...kept, ...body, chance: c.end.chance })];
}

// insert puts a missed chance behind another.
export function insert(behind: ChanceRow, offence: string, body: Omit<ChanceEnded, 'chance'>): { drafts: Draft[]; id: string } {
  const id = uuid7();
  const last = behind.shots.at(-1)?.row ?? behind.endRow ?? behind.actions.at(-1)?.row ?? behind.row;
  const when: When = { period: last.period, ...(last.clock !== undefined ? { clock: last.clock } : {}), from: 'inferred' };
  return {
    id,
    drafts: [
      draft('chance-began', { offence }, { id, when, after: last.event.id }),
      draft('chance-ended', { chance: id, ...body }, { when, after: id })
    ]
  };
}
