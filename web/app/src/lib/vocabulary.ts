// The vocabulary as the server tells it. No word of it stands in this folder:
// pages, keys and the fold are all made from these tables.

export type Reading = 'held' | 'even' | 'broken' | 'unclear' | '';

export interface OutcomeRow { outcome: string; reading: Reading; gloss: string }
export interface KindRow { kind: string; gloss: string; outcomes: OutcomeRow[] }
export interface DetailRow {
  name: string;
  on?: string[];
  holds: 'words' | 'player' | 'event' | 'text';
  words?: string[];
  many: boolean;
  gloss: string;
}
export interface RuleSet { name: string; periods: number; minutes: number; overtime_minutes: number }

export interface Vocabulary {
  version: number;
  kinds: KindRow[];
  every_kind: OutcomeRow[];
  details: DetailRow[];
  rules: RuleSet[];
  words: Record<string, string[]>;
}

export const columns = ['held', 'even', 'broken'] as const;
export type Column = (typeof columns)[number];

// gridOf lays a kind's outcomes out: a column a reading, the commonest first.
export function gridOf(v: Vocabulary, kind: string): Record<Column, OutcomeRow[]> {
  const own = v.kinds.find((k) => k.kind === kind)?.outcomes ?? [];
  return {
    held: own.filter((o) => o.reading === 'held'),
    even: own.filter((o) => o.reading === 'even'),
    broken: own.filter((o) => o.reading === 'broken')
  };
}

// readingOf is what an outcome says about the defender; a foul to give, or to
// stop a break, says nothing.
export function readingOf(v: Vocabulary, kind: string, outcome: string, foul?: string): Reading {
  if (outcome === 'fouled' && (foul === 'to-give' || foul === 'stop-break')) return '';
  const own = v.kinds.find((k) => k.kind === kind)?.outcomes ?? [];
  return [...own, ...v.every_kind].find((o) => o.outcome === outcome)?.reading ?? '';
}

// detailsOf lists the details a kind takes that are words, the kind's own first.
export function detailsOf(v: Vocabulary, kind: string): DetailRow[] {
  const own = v.details.filter((d) => d.on?.includes(kind));
  return [...own, ...v.details.filter((d) => !d.on)];
}

// say makes a word of the vocabulary fit for reading.
export const say = (word: string): string => word.replaceAll('-', ' ').replaceAll('_', ' ');
