// What the server says of charts, and what it is asked to write.
import { ServerError, type Fault } from '../lib/api';

export type Severity = 'serious' | 'odd' | 'remark';
export const severities: Severity[] = ['serious', 'odd', 'remark'];

export interface Place { period?: number; clock?: number | null; film?: { id: string; at: number }; chance?: string; event?: string }
export interface Coverage { held: number; defended: number; played: number; basis: string; share: number | null; charted: number | null; note?: string }
export interface ListedChart {
  chart: string;
  charters: string[];
  holds: string;
  closed: boolean;
  chances: number;
  actions: number;
  counts: Partial<Record<Severity, number>>;
  gravest?: string;
  coverage: Coverage;
  totals: 'agree' | 'differ' | 'none';
  differing?: string[];
  no_totals?: string;
}
export interface ListedGame { game: string; digest: string; date?: string; competition?: string; home: string; away: string; invented?: boolean; record: string; charts: ListedChart[] }

export interface Finding { code: string; severity: Severity; place: Place; text: string; cause?: string }
export interface Line { name: string; charted: number; official: number; difference: number; asked: boolean }
export interface Possessions { charted: number; chances: number; official: number; chart: number; plays: number }
export interface Suspect { place: Place; text: string; evidence?: string }
export interface Explanation { text: string; corrections: { team: string; text: string; places: number; suspects: Suspect[] | null }[]; cost: number }
export interface Comparison { teams: { team: string; lines: Line[]; possessions: Possessions }[]; agrees: boolean; explanations: Explanation[]; mean_charted: number; mean_official: number; note?: string }
export interface Report {
  game: string;
  chart: string;
  digest: string;
  holds: string;
  closed: boolean;
  findings: Finding[];
  counts: Partial<Record<Severity, number>>;
  coverage: Coverage;
  defences: { team: string; chances: number; charted: number; actions: number; nobody: number; unclear: number }[];
  prospect?: { player: string; chances: number; acted: number; not_tested: number; not_seen: number; unsaid: number; actions: number };
  totals?: Comparison;
  no_totals?: string;
}
export interface GameReport { game: string; digest: string; record: string; invented?: boolean; charts: Report[] }

export interface Figure { value: number; se?: number | null; lo?: number | null; hi?: number | null }
export interface Field { name: string; n: number; raw: number | null; kappa: Figure | null; note?: string; words?: string[]; table?: number[][] }
export interface Seen { in_a: number; in_b: number; both: number; precision: Figure | null; recall: Figure | null; f1: number | null; note?: string }
export interface Lean { pairs: number; harsher: number; milder: number }
export interface KindRow { kind: string; either: number; one_only: number; other_kind: number; readings: number; read_alike: number; order: Field; disputed: number; lo: number; hi: number }
export interface Missing { from: string; in: string; what: 'chance' | 'action'; kind?: string; place: Place; text: string }
export interface Pair {
  a: string;
  b: string;
  comparable: boolean;
  why?: string;
  common?: string;
  offset: { seconds: number; spread: number; applied: boolean; text: string };
  chances_seen: Seen;
  actions_seen: Seen;
  fields: Field[] | null;
  order: Field;
  blind: Field[] | null;
  hindsight: { scored: Lean; not_scored: Lean };
  kinds: KindRow[] | null;
  missing: Missing[] | null;
}
export interface Alpha { name: string; units: number; labels: number; alpha: Figure | null; ordinal: boolean; note?: string }
export interface Version {
  chart: string;
  seen: boolean;
  place: Place;
  text: string;
  kind?: string;
  defender?: string;
  opponent?: string;
  outcome?: string;
  reading?: string;
  blind?: boolean;
  end?: string;
  points?: number;
}
export interface Disagreement { id: string; what: 'chance' | 'action'; fields: string[]; place: Place; versions: Version[] }
export interface Agreement {
  game: string;
  digest: string;
  charts: { chart: string; charters: string[]; holds: string; chances: number; actions: number }[];
  comparable: boolean;
  why?: string;
  options: { level: number; resamples: number; tolerance: number };
  pairs: Pair[];
  alpha: Alpha[] | null;
  disagreements: Disagreement[] | null;
}

export interface Change { name: string; from: number | null; to: number | null }
export interface Move { id: string; chart: string; changes: Change[] }
export interface Shown { id: string; name: string; at: number; end: number; doubt: number; by: string }
export interface Settling {
  game: string;
  digest: string;
  definition: string;
  hash: string;
  base: string;
  moves: Move[];
  disagreements: Disagreement[] | null;
  film: Record<string, Shown>;
  no_film: string;
}
export interface SettleAsk { charts: string[]; base: string; player?: string; choices: Record<string, string> }

export interface Confusion { field: string; kind?: string; settled: string; learner: string; times: number; of: number }
export interface Training {
  chart: string;
  against: string;
  pair: Pair;
  lean: Lean;
  missed: { kind: string; of: number; missed: number; extra: number }[];
  confusions: Confusion[];
  differs: { place: Place; fields: string[]; settled: string; learner: string }[];
  why?: string;
}

export interface Against { games: number; precision: number | null; recall: number | null; kind: Field; outcome: Field; order: Field; resample: string }
export interface Work {
  charts: number;
  events: number;
  chances: number;
  actions: number;
  corrections: number;
  play_minutes: number;
  recorded_minutes: number;
  per_play_minute: number | null;
  per_recorded_minute: number | null;
  corrected_share: number | null;
}
export interface CharterReport extends Work {
  charter: string;
  against: Against;
  self: Against;
  with: ({ charter: string } & Against)[] | null;
  games: ({ game: string; date?: string; chart: string; agreement: number | null; pairs: number } & Work)[];
}

async function ask<T>(path: string, body?: unknown): Promise<T> {
  let answer: Response;
  try {
    answer = await fetch(path, body === undefined ? {} : { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
  } catch {
    throw new ServerError({ kind: 'offline', reason: 'the server does not answer; an audit needs it' });
  }
  const told = (await answer.json().catch(() => null)) as (T & { error?: Fault }) | null;
  if (!answer.ok || !told) throw new ServerError(told?.error ?? { kind: 'internal', reason: `the server said ${answer.status}` });
  return told;
}

const list = (names: string[]): string => encodeURIComponent(names.join(','));

export const getAudits = async (): Promise<ListedGame[]> => (await ask<{ games: ListedGame[] }>('/api/audit')).games;
export const getAudit = (game: string): Promise<GameReport> => ask(`/api/audit/${game}`);
export const getAgreement = (game: string, charts: string[]): Promise<Agreement> => ask(`/api/audit/${game}/agreement?charts=${list(charts)}`);
export const getTraining = (game: string, chart: string, against: string): Promise<Training> =>
  ask(`/api/audit/${game}/training?chart=${encodeURIComponent(chart)}&against=${encodeURIComponent(against)}`);
export const getSettling = (game: string, charts: string[], base: string, player: string): Promise<Settling> =>
  ask(`/api/audit/${game}/settling?charts=${list(charts)}&base=${encodeURIComponent(base)}&player=${encodeURIComponent(player)}`);
export const getCharters = async (): Promise<CharterReport[]> => (await ask<{ charters: CharterReport[] | null }>('/api/charters')).charters ?? [];
export const getRole = async (): Promise<string> => (await ask<{ role: string }>('/api/me')).role;
export const effectOf = async (game: string, a: SettleAsk): Promise<Change[]> => (await ask<{ changes: Change[] }>(`/api/audit/${game}/effect`, a)).changes;
export const writeSettled = (game: string, a: SettleAsk & { name: string; by: string; adopt: boolean }): Promise<{ chart: string; events: number }> => ask(`/api/audit/${game}/settled`, a);
export const adopt = (game: string, chart: string, by: string): Promise<unknown> => ask(`/api/audit/${game}/record`, { chart, by });
export const enterTotals = (game: string, chart: string, by: string, teams: Record<string, Record<string, number>>): Promise<{ corrected: boolean }> =>
  ask(`/api/audit/${game}/totals`, { chart, by, teams });
