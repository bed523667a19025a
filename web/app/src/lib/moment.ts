// A link to the Pad may name a moment: ?at= a chance or something in it, or
// ?period= and ?clock= where no chance is.
import type { ChanceRow } from './fold';

export interface Moment { id?: string; period?: number; clock?: number }

export function momentOf(search: string): Moment | null {
  const q = new URLSearchParams(search);
  const m: Moment = {};
  const number = (name: string) => (q.has(name) && Number.isFinite(Number(q.get(name))) ? Number(q.get(name)) : undefined);
  const [id, period, clock] = [q.get('at'), number('period'), number('clock')];
  if (id) m.id = id;
  if (period) m.period = period;
  if (clock !== undefined) m.clock = clock;
  return m.id || m.period ? m : null;
}

// named finds the chance that holds what a moment names.
export const named = (list: ChanceRow[], m: Moment): string | undefined =>
  m.id ? list.find((c) => c.id === m.id || c.endRow?.event.id === m.id || c.actions.some((a) => a.id === m.id))?.id : undefined;

// chanceAt finds the chance a moment means: the one it names, else the last that
// had begun by then, else the first of its period.
export function chanceAt(list: ChanceRow[], m: Moment): string | undefined {
  const id = named(list, m);
  if (id || !m.period) return id;
  const inPeriod = list.filter((c) => c.period === m.period);
  const clock = m.clock;
  const before = clock === undefined ? undefined : inPeriod.findLast((c) => c.clock !== undefined && c.clock >= clock);
  return (before ?? inPeriod[0])?.id;
}
