// Every call to the server.
import type { ChartScoped, Event, GameOpened, Player, Rules, Team } from './events';
import type { Vocabulary } from './vocabulary';

export interface Finding { what: string; severity?: string; event?: string; chart?: string; text: string }
export interface ChartInfo {
  chart: string;
  scope: ChartScoped;
  chances: number;
  actions: number;
  closed: boolean;
  charters: string[];
  score: Record<string, number>;
  period?: number;
  findings?: Finding[];
}
export interface GameInfo { id: string; info: GameOpened; record?: string; digest: string; events: number; charts: ChartInfo[]; findings?: Finding[] }
export interface TeamInfo extends Team { players: Player[]; date?: string; games: number; invented?: boolean; rules: Rules; level?: string }
export interface Shape { part: string; kind: 'segment' | 'rect' | 'circle' | 'arc'; x: number; y: number; x2: number; y2: number; r: number; a: number; b: number }
export interface CourtInfo {
  rules: string;
  length: number;
  width: number;
  basket_to_end_line: number;
  three_arc: number;
  three_corner: number;
  bend: number;
  tolerance: number;
  shapes: Shape[];
}
export type PadMessage =
  | { op: 'hello'; at?: number }
  | { op: 'events'; at: number; events: { at: number; event: Event }[] }
  | { op: 'safe'; id: string; at?: number }
  | { op: 'refused' | 'later'; id: string; error: Fault };
export interface Fault { kind: string; reason: string; field?: string }

export class ServerError extends Error {
  constructor(readonly fault: Fault) {
    super(fault.reason);
  }
}

export async function get<T>(path: string): Promise<T> {
  let answer: Response;
  try {
    answer = await fetch(path, { headers: { Accept: 'application/json' } });
  } catch {
    throw new ServerError({ kind: 'offline', reason: 'the server does not answer; what is kept on this machine still works' });
  }
  const body = await answer.json().catch(() => null);
  if (!answer.ok) throw new ServerError(body?.error ?? { kind: 'internal', reason: `the server said ${answer.status}` });
  return body as T;
}

// post sends a question or an order and returns the answer.
export async function post<T>(path: string, what: unknown): Promise<T> {
  let answer: Response;
  try {
    answer = await fetch(path, { method: 'POST', headers: { 'Content-Type': 'application/json', Accept: 'application/json' }, body: JSON.stringify(what) });
  } catch {
    throw new ServerError({ kind: 'offline', reason: 'the server does not answer' });
  }
  const body = await answer.json().catch(() => null);
  if (!answer.ok) throw new ServerError(body?.error ?? { kind: 'internal', reason: `the server said ${answer.status}` });
  return body as T;
}

export const getVocabulary = (): Promise<Vocabulary> => get('/api/vocabulary');
export const getGames = async (): Promise<GameInfo[]> => (await get<{ games: GameInfo[] }>('/api/games')).games;
export const getGame = (id: string): Promise<GameInfo> => get(`/api/games/${id}`);
export const getTeams = async (): Promise<TeamInfo[]> => (await get<{ teams: TeamInfo[] }>('/api/teams')).teams;
export const getCourt = (rules: string): Promise<CourtInfo> => get(`/api/court/${rules}`);

const socketAddress = (path: string): string => `${location.protocol === 'https:' ? 'wss' : 'ws'}://${location.host}${path}`;

export const padSocket = (): WebSocket => new WebSocket(socketAddress('/ws/pad'));
export const boardSocket = (): WebSocket => new WebSocket(socketAddress('/ws/board'));

// appendMessage wraps an event without touching its bytes.
export const appendMessage = (raw: string): string => `{"op":"append","event":${raw}}`;
