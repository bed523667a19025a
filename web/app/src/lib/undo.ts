// Taking back: what was charted is voided, what was corrected is corrected back.
import { draft, type Bodies, type Draft, type Event, type Type } from './events';
import { revised, voiding, type Chart } from './fold';

// Step is what one key or tap charted, and how the corrected looked before.
export interface Step {
  facts: string[];
  before: { target: string; body: unknown }[];
  moved: Bodies['reassigned'][];
}

// films stay known, whatever is taken back.
const corrections = ['amended', 'voided', 'reassigned', 'film-linked', 'film-anchored'];
export const isFact = (type: Type | string): boolean => !corrections.includes(type);

export function stepOf(chart: Chart, drafts: Draft[]): Step {
  const before: Step['before'] = [];
  for (const d of drafts) {
    if (d.type !== 'amended' && d.type !== 'voided') continue;
    const target = (d.body as Bodies['voided']).target;
    const row = chart.rows.get(target);
    if (row) before.push({ target, body: row.body });
  }
  return { facts: [], before, moved: drafts.filter((d) => d.type === 'reassigned').map((d) => d.body as Bodies['reassigned']) };
}

// undoing makes the corrections that take a step back. A chance that holds what
// others charted in it stays begun.
export function undoing(chart: Chart, step: Step): Draft[] {
  const out: Draft[] = [];
  for (const id of step.facts.toReversed()) {
    const row = chart.rows.get(id);
    if (!row || row.voided) continue;
    const others = row.event.type === 'chance-began' && chart.chances.find((c) => c.id === id)?.actions.some((a) => !step.facts.includes(a.id));
    if (!others) out.push(voiding(row));
  }
  for (const b of step.before) {
    const row = chart.rows.get(b.target);
    if (row) out.push(revised(row, b.body, 'taken back'));
  }
  for (const m of step.moved) out.push(draft('reassigned', { from: m.to, to: m.from, targets: m.targets }));
  return out;
}

// lastFact is the last thing that still stands of what a charter charted.
export function lastFact(chart: Chart, charter: string): Step | undefined {
  const undoable = ['action', 'chance-ended', 'chance-began', 'shots-taken'];
  let last: Event | undefined;
  for (const r of chart.rows.values()) {
    if (!r.voided && r.event.charter === charter && undoable.includes(r.event.type) && (!last || r.event.id > last.id)) last = r.event;
  }
  return last && { facts: [last.id], before: [], moved: [] };
}
