// What the server says of players, as package metrics counts it. The pages lay
// these out and add no number of their own.
import { get } from '../lib/api';

export interface Source { definition: string; hash: string; digest: string; position: number; events: number; games: number; as_of?: string; invented?: boolean }
export interface Pooled { mean: number; sd: number; q10: number; q50: number; q90: number }
export interface Counts { actions: number; chances: number; games: number; held: number; even: number; broken: number; unclear: number; stops: number; of: number; effective: number }
export interface Fact { about: 'takes-away' | 'attack' | 'unknown'; text: string; kinds: string[]; assignments: string[] }
export interface OutcomeCount { outcome: string; reading?: string; count: number }
export interface RoleReport extends Counts { role?: string; raw: number | null; process: Pooled; peers: Pooled | null; better: number | null }
export interface KindReport extends Counts {
  kind: string;
  outcomes: OutcomeCount[];
  raw: number | null;
  process: Pooled;
  peers: Pooled | null;
  peers_n: number;
  better: number | null;
  own_share: number;
  result: Pooled;
  cost_per_100: Pooled | null;
  sure: string;
  roles: RoleReport[] | null;
  text: string;
}
export interface Projection {
  assignment: string;
  about?: string;
  word: string;
  why: string;
  process: Pooled;
  better: number | null;
  against: { peers: number; reference: boolean; rate: Pooled } | null;
  own_share: number;
  result: Pooled;
  film: Counts;
  asks: ({ kind: string; role?: string; came_by?: string; share: number } & Counts)[] | null;
  raw: { text: string };
  notes: string[] | null;
  at: { scheme: string };
}
export interface Spanned { value: number; low: number; high: number }
export interface Spot { kind: string; reading?: string; x: number; y: number; action: number }
export interface Profile {
  player: string;
  team?: string;
  role?: string;
  film: Counts;
  levels: string[] | null;
  untested: { on_floor: number; acted: number } | null;
  facts: Fact[];
  kinds: KindReport[] | null;
  assignments: Projection[] | null;
  process_against_result: { trials: number; stops: number; of: number; process: number; expected: number; above_per_100: Spanned | null; text: string; threes: { text: string }; blind: number; readings: number };
  recovery: { broken: number; second_effort: number; text: string };
  first_breaks: { chances: number; first: number; text: string };
  streaks: { text: string };
  counts: { what: string; count: number; of: number; games: number; text: string }[] | null;
  spots: Spot[] | null;
  film_plan: { assignments: { assignment: string; text: string }[] | null; uncharted: { game: string; date?: string; chances: number }[] | null; text: string };
  made_from: { definition: string; hash: string; digest: string; seed: string; games: number; through?: string; undecided: { rule: string; reason: string; rows: number }[]; warnings: string[] };
  cautions: string[];
}
export interface ProfileAnswer extends Source { name?: string; moving?: boolean; profile: Profile }

export interface BoardPlayer { id: string; team?: string; number?: string; role?: string; actions: number; chances: number; games: number }
export interface BoardGame { id: string; date?: string; home: string; away: string; rules?: string }
export interface BoardAnswer extends Source { teams: Record<string, string>; players: BoardPlayer[]; choices: Record<string, string[]>; played: BoardGame[] }

export interface Act { id: string; kind: string; outcome: string; reading?: string; defender?: string; opponent?: string; details?: Record<string, string[]>; effort?: number; asked?: boolean }
export interface Row {
  game: string;
  date?: string;
  home: { id: string; name?: string };
  away: { id: string; name?: string };
  invented?: boolean;
  chance: string;
  period?: number;
  clock?: number;
  offence: string;
  defence: string;
  margin?: number;
  tempo?: string;
  scheme?: string;
  end?: string;
  turnover?: string;
  points: number;
  ball?: string;
  actions: Act[];
  film?: { id: string; name: string; at: number; end: number; doubt: number; by: string };
  no_film?: string;
}
export interface EvidenceAnswer extends Source { actions: number; chances: number; chance_games: number; rows: Row[]; from: number }
export interface ClipsAnswer extends Source { chances: number; files: { name: string; media: string; text: string }[]; left: { game: string; title: string; why: string }[] }

const asked = (path: string, q: URLSearchParams): string => (q.size > 0 ? `${path}?${q}` : path);

export const getBoard = (q: URLSearchParams): Promise<BoardAnswer> => get(asked('/api/board', q));
export const getProfile = (player: string, q: URLSearchParams): Promise<ProfileAnswer> => get(asked(`/api/players/${player}`, q));
export const getEvidence = (q: URLSearchParams): Promise<EvidenceAnswer> => get(asked('/api/evidence', q));
export const getClips = (q: URLSearchParams): Promise<ClipsAnswer> => get(asked('/api/clips', q));
export const briefAddress = (player: string, q: URLSearchParams): string => asked(`/api/players/${player}/brief`, q);
