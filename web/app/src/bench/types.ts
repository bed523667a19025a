// What the server says of definitions.
import { get, post } from '../lib/api';
import type { Source } from '../board/types';

export interface Problem { line: number; column: number; text: string; source: string }
export interface ExampleResult { example: string; line: number; column: number; what: string; expected: string; got: string; ok: boolean; reason?: string }
export interface Rule { label: string; text: string }
export interface Checked { name?: string; hash?: string; problems: Problem[]; examples: ExampleResult[]; rules: Rule[] }
export interface Version { hash: string; saved: string; by?: string; note?: string }
export interface Named { name: string; about: string; shipped?: boolean; versions: Version[] }
export interface Choice { name: string; hash: string; at: string; by?: string; why?: string }
export interface FieldDoc { name: string; type: string; words?: string[]; gloss: string }
export interface Book {
  in_force: { name: string; hash: string };
  trail: Choice[];
  definitions: Named[];
  fields: FieldDoc[];
  blame: { name: string; weight: string; gloss: string }[];
  dimensions: string[];
  keeps: boolean;
}
export interface VersionText { name: string; about: string; hash: string; text: string; rules: Rule[] }
export interface Numbers {
  actions: number; chances: number; games: number; trials: number; weight: number; stops: number;
  stop_rate: number | null; wilson: [number, number] | null;
  effective: { n: number; design_effect: number; rho: number; wilson: [number, number]; jeffreys: [number, number] } | null;
  points: number; points_per_chance: number | null; points_interval: [number, number] | null;
  held: number; even: number; broken: number; unclear: number; undecided: number;
}
export interface Group extends Numbers { key: string[] }
export interface Rates extends Source { by: string[]; groups: Group[]; total: Group; team_points: number; undecided_rows: { rule: string; reason: string; rows: number }[]; few_games: number }
export interface GroupMove { key: string[]; old: Numbers | null; new: Numbers | null; moved: number }
export interface Flip { game: string; chance: string; action: string; kind: string; outcome: string; defender?: string; from: string; to: string; rule: string }
export interface Run extends Source {
  from: { name: string; hash: string };
  to: { name: string; hash: string };
  by: string[];
  groups: GroupMove[];
  total: GroupMove;
  flips: Flip[];
  flipped: number;
  rules: { rule: string; old_rule: string; new_rule: string; rows: number }[];
  milliseconds: number;
  undecided_old: { rule: string; reason: string; rows: number }[];
  undecided_new: { rule: string; reason: string; rows: number }[];
}

export const getBook = (): Promise<Book> => get('/api/definitions');
export const getVersion = (hash: string): Promise<VersionText> => get(`/api/definitions/${hash}`);
export const check = (text: string): Promise<Checked> => post('/api/definitions/check', { text });
export const runAgainst = (text: string, against: string, by: string[], asOf: string): Promise<Run> => post('/api/definitions/run', { text, against, by, as_of: asOf });
export const save = (text: string, note: string): Promise<{ name: string; hash: string }> => post('/api/definitions/save', { text, note });
export const putInForce = (hash: string, why: string): Promise<Choice> => post('/api/definitions/in-force', { hash, why });
export const getRates = (q: URLSearchParams): Promise<Rates> => get(`/api/rates?${q}`);
