// The optional rows: details of an action, and what is said of a chance as a
// whole. A row never blocks: its words lie on the right hand's grid, which is
// free between two entries, and any other key goes on.
import type { Bodies, Player } from './events';
import type { ActionRow, ChanceRow } from './fold';
import type { Signal } from './keys';
import { detailsOf, say, type Vocabulary } from './vocabulary';

export interface Choice { word: string; label: string; on: boolean; signal?: Signal }
export interface Group { name: string; label: string; gloss: string; many: boolean; choices: Choice[] }

// order is how the grid's nine places are read: the row above, home, below.
export const order: Signal[] = [2, 1, 3].flatMap((r) => (['held', 'even', 'broken'] as const).map((c): Signal => `cell:${c}:${r}`));

const laid = (words: [string, string][], on: (w: string) => boolean): Choice[] =>
  words.map(([word, label], i) => ({ word, label, on: on(word), ...(order[i] ? { signal: order[i]! } : {}) }));

// detailGroups are the details that an action may have, with what it has.
export function detailGroups(v: Vocabulary, a: ActionRow, attackers: Player[]): Group[] {
  const rows = detailsOf(v, a.kind).filter((d) => !['saw_end', 'prompted', 'follows', 'tags'].includes(d.name) && (d.name !== 'foul' || a.outcome === 'fouled'));
  if (a.outcome === 'fouled') rows.sort((x, y) => Number(y.name === 'foul') - Number(x.name === 'foul'));
  return rows.map((d) => {
    const words: [string, string][] = d.holds === 'player'
      ? attackers.map((p) => [p.id, p.number ?? p.id])
      : (d.words ?? []).map((w) => [w, say(w)]);
    return { name: d.name, label: say(d.name), gloss: d.gloss, many: d.many, choices: laid(words, (w) => a.details?.[d.name]?.includes(w) ?? false) };
  });
}

// toggled is an action's details with one word turned on or off.
export function toggled(a: ActionRow, g: Group, word: string): Record<string, string[]> | undefined {
  const had = a.details?.[g.name] ?? [];
  const next = had.includes(word) ? had.filter((w) => w !== word) : g.many ? [...had, word] : [word];
  const { [g.name]: _, ...rest } = a.details ?? {};
  const details = next.length > 0 ? { ...rest, [g.name]: next } : rest;
  return Object.keys(details).length > 0 ? details : undefined;
}

// chanceGroups are the words for a chance and for the defence's scheme.
export function chanceGroups(v: Vocabulary, c: Pick<ChanceRow, 'origin' | 'tempo'>, scheme: Bodies['scheme-set'] | undefined): Group[] {
  const of = (name: string, label: string, gloss: string, now: string | undefined): Group => ({
    name, label, gloss, many: false, choices: laid((v.words[name] ?? []).map((w) => [w, say(w)]), (w) => w === now)
  });
  return [
    of('tempo', 'tempo', 'when it was tried', c.tempo),
    of('origin', 'origin', 'how the ball came', c.origin),
    of('base', 'scheme', 'from here on', scheme?.base),
    of('principle', 'principle', 'from here on', scheme?.principle),
    of('pressure', 'pressure', 'from here on', scheme?.pressure)
  ];
}
