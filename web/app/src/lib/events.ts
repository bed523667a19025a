// Events as the ledger stores them, and how the Pad mints one.

export interface When { period?: number; clock?: number; from?: string; film?: { id: string; at: number } }
export interface Spot { x: number; y: number }
export interface Team { id: string; name?: string }
export interface Player { id: string; team: string; number?: string; role?: string }
export type Rules = string | { periods: number; minutes: number; overtime_minutes: number };

export interface GameOpened {
  competition?: string;
  level?: string;
  rules: Rules;
  date?: string;
  home: Team;
  away: Team;
  players?: Player[];
  invented?: boolean;
}
export interface ChartScoped { ends?: 'both' | 'one'; team?: string; focus?: string }
export interface ChanceBegan { offence: string; origin?: string; tempo?: string }
export interface Action {
  chance: string;
  kind: string;
  defender?: string;
  opponent?: string;
  outcome: string;
  details?: Record<string, string[]>;
  spot?: Spot;
}
export interface ChanceEnded {
  chance: string;
  end: string;
  turnover?: string;
  next?: string;
  shooter?: string;
  lost_by?: string;
  spot?: Spot;
  blocked_by?: string;
  steal_by?: string;
  heave?: boolean;
  rebound?: string;
  rebound_by?: string;
  team_rebound?: boolean;
  made?: number;
  attempted?: number;
  focus?: string;
}
export interface ShotsTaken {
  chance: string;
  made: number;
  attempted: number;
  last?: string;
  rebound_by?: string;
  team_rebound?: boolean;
  shooter?: string;
}

// Bodies maps each type to its body.
export interface Bodies {
  'game-opened': GameOpened;
  'chart-scoped': ChartScoped;
  'film-linked': { id: string; name: string; bytes?: number; fingerprint?: string };
  'film-anchored': { film: string; at: number; period: number; clock: number };
  'lineup-set': { team: string; players: string[] };
  'substituted': { team: string; in?: string; out?: string };
  'scheme-set': { team: string; base?: string; principle?: string; pressure?: string };
  'chance-began': ChanceBegan;
  'action': Action;
  'chance-ended': ChanceEnded;
  'shots-taken': ShotsTaken;
  'penalty-shots': { team: string; made: number; attempted: number; why: string; ball_after?: string; shooter?: string };
  'score-noted': { home: number; away: number };
  'amended': { target: string; base: string; body?: unknown; when?: When; why?: string };
  'voided': { target: string; base: string; why?: string };
  'reassigned': { from: string; to: string; targets: string[] };
  'chance-merged': { keep: string; drop: string };
  'noted': { text: string; about?: string };
  'game-closed': Record<string, never>;
}
export type Type = keyof Bodies;

export interface Event {
  v: number;
  id: string;
  game: string;
  chart: string;
  charter: string;
  pad: string;
  n: number;
  recorded?: string;
  when?: When;
  after?: string;
  type: string;
  body: unknown;
}

// Draft is an event before it has its number.
export interface Draft<T extends Type = Type> { type: T; body: Bodies[T]; when?: When; after?: string; id?: string }

export const draft = <T extends Type>(type: T, body: Bodies[T], rest: Omit<Draft, 'type' | 'body'> = {}): Draft<T> =>
  ({ type, body, ...rest });

let lastTime = 0;
let lastCount = 0;

// uuid7 makes an id whose order is the order of minting, also within one
// millisecond (RFC 9562, section 6.2, method 1: a counter in rand_a).
export function uuid7(now = Date.now()): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  if (now > lastTime) {
    lastTime = now;
    lastCount = ((bytes[6]! & 7) << 8) | bytes[7]!;
  } else if (++lastCount > 0xfff) {
    lastTime++;
    lastCount = 0;
  }
  let ms = lastTime;
  for (let i = 5; i >= 0; i--) {
    bytes[i] = ms % 256;
    ms = Math.floor(ms / 256);
  }
  bytes[6] = 0x70 | (lastCount >> 8);
  bytes[7] = lastCount & 0xff;
  bytes[8] = 0x80 | (bytes[8]! & 0x3f);
  const hex = Array.from(bytes, (b) => b.toString(16).padStart(2, '0')).join('');
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-');
}

// newPad names this page's lifetime.
export function newPad(): string {
  return 'p' + Array.from(crypto.getRandomValues(new Uint8Array(6)), (b) => b.toString(16).padStart(2, '0')).join('');
}

// token makes an id of a name: what the ledger takes for games, teams, players.
export function token(name: string): string {
  return name.toLowerCase().normalize('NFKD').replace(/\p{M}/gu, '').replace(/[^a-z0-9]+/g, '-').replace(/^-+|-+$/g, '').slice(0, 40);
}
