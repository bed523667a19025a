// How the Audit page says numbers and places.
import type { Change, ListedChart, ListedGame, Place } from './api';
import { say } from '../lib/vocabulary';

export function clock(seconds: number): string {
  const tenths = Math.round(seconds * 10);
  const text = `${Math.floor(tenths / 600)}:${String(Math.floor(tenths / 10) % 60).padStart(2, '0')}`;
  return tenths % 10 ? `${text}.${tenths % 10}` : text;
}

export const whereIs = (p: Place): string =>
  !p.period ? 'no moment known' : p.clock === undefined || p.clock === null ? `period ${p.period}` : `period ${p.period}, ${clock(p.clock)}`;

// onPad is the Pad's address at a place.
export function onPad(game: string, chart: string, p: Place): string {
  const q = new URLSearchParams();
  const at = p.event ?? p.chance;
  if (at) q.set('at', at);
  if (p.period) q.set('period', String(p.period));
  if (p.clock !== undefined && p.clock !== null) q.set('clock', String(p.clock));
  return `/pad/${game}/${chart}${q.size > 0 ? `?${q}` : ''}`;
}

export const percent = (x: number | null | undefined, digits = 0): string => (x === null || x === undefined ? '–' : `${(100 * x).toFixed(digits)}\u00a0%`);
export const two = (x: number | null | undefined): string => (x === null || x === undefined ? '–' : x.toFixed(2));
export const signed = (n: number): string => (n > 0 ? `+${n}` : n < 0 ? `−${-n}` : '0');
export const few = (n: number, one: string, many = `${one}s`): string => `${n} ${n === 1 ? one : many}`;

// filmTime writes seconds of film as a player shows them.
export function filmTime(seconds: number): string {
  const s = Math.floor(seconds);
  const rest = `${String(Math.floor(s / 60) % 60).padStart(s < 3600 ? 1 : 2, '0')}:${String(s % 60).padStart(2, '0')}`;
  return s < 3600 ? rest : `${Math.floor(s / 3600)}:${rest}`;
}

// moved tells a change that a page can show from one that it cannot.
export function moved(c: Change): boolean {
  if (c.from === null || c.to === null) return c.from !== c.to;
  return Math.abs(c.to - c.from) >= 0.0005;
}

// size is how far a change goes; a rate that appears or vanishes goes furthest.
export const size = (c: Change): number => (c.from === null || c.to === null ? (c.from === c.to ? 0 : Infinity) : Math.abs(c.to - c.from));

export const most = (list: Change[]): Change | undefined =>
  list.filter(moved).reduce<Change | undefined>((best, c) => (!best || size(c) > size(best) ? c : best), undefined);

// rate names a measure: "drive stop rate" stays, hyphens of the kind go.
export const rate = (c: Change): string => say(c.name);

// sentence says a change: "drive stop rate from 54.0 % to 47.1 %", with a verb
// where it has to stand alone.
export function sentence(c: Change, verb = ''): string {
  const at = (x: number | null) => (x === null ? 'nothing charted' : percent(x, 1));
  return `${rate(c)}${verb && ` ${verb}`} from ${at(c.from)} to ${at(c.to)}`;
}

// What stands out of a list of games.
export const marks = {
  serious: { label: 'serious findings', is: (c: ListedChart) => (c.counts.serious ?? 0) > 0 },
  gaps: { label: 'under 90 % covered', is: (c: ListedChart) => c.coverage.share !== null && c.coverage.share < 0.9 },
  differ: { label: 'totals differ', is: (c: ListedChart) => c.totals === 'differ' },
  bare: { label: 'no totals entered', is: (c: ListedChart) => c.totals === 'none' && /entered/.test(c.no_totals ?? '') },
  open: { label: 'not closed', is: (c: ListedChart) => !c.closed }
} satisfies Record<string, { label: string; is(c: ListedChart): boolean }>;
export type MarkName = keyof typeof marks | 'twice';

export const stands = (g: ListedGame, name: MarkName): boolean => (name === 'twice' ? g.charts.length > 1 : g.charts.some(marks[name].is));

export type Order = 'date' | 'coverage' | 'findings' | 'totals';

// ofRecord is the chart that a game is judged by.
export const ofRecord = (g: ListedGame): ListedChart | undefined => g.charts.find((c) => c.chart === g.record) ?? g.charts[0];

const grave = (c: ListedChart): number => 1e6 * (c.counts.serious ?? 0) + 1e3 * (c.counts.odd ?? 0) + (c.counts.remark ?? 0);
const worst = (g: ListedGame, of: (c: ListedChart) => number): number => Math.max(0, ...g.charts.map(of));

// sorted puts the worst first, or the newest; backwards turns it round.
export function sorted(games: ListedGame[], by: Order, backwards: boolean): ListedGame[] {
  const key: Record<Order, (a: ListedGame, b: ListedGame) => number> = {
    date: (a, b) => (b.date ?? '').localeCompare(a.date ?? '') || b.game.localeCompare(a.game),
    coverage: (a, b) => (ofRecord(a)?.coverage.share ?? 2) - (ofRecord(b)?.coverage.share ?? 2),
    findings: (a, b) => worst(b, grave) - worst(a, grave),
    totals: (a, b) => worst(b, (c) => c.differing?.length ?? 0) - worst(a, (c) => c.differing?.length ?? 0)
  };
  const out = games.toSorted(key[by]);
  return backwards ? out.reverse() : out;
}
