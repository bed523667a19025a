// How numbers are written for people.
import type { Row } from './types';
import { say } from '../lib/vocabulary';

export const percent = (p: number): string => `${Math.round(100 * p)} %`;
export const span = (p: { q10: number; q90: number }): string => `${Math.round(100 * p.q10)}–${Math.round(100 * p.q90)} %`;
export const likely = (p: number): string => (p > 0.99 ? 'over 99 %' : p < 0.01 ? 'under 1 %' : percent(p));
export const plural = (n: number, one: string): string => `${n} ${n === 1 ? one : `${one}s`}`;

// signed writes points with their sign, and no minus before a zero.
export function signed(x: number): string {
  const r = Math.round(10 * x) / 10;
  return r === 0 ? '0.0' : (r > 0 ? '+' : '−') + Math.abs(r).toFixed(1);
}

export function sentence(text: string): string {
  const t = text.trim();
  if (t === '') return '';
  return t[0]!.toUpperCase() + t.slice(1) + (/[.!?]$/.test(t) ? '' : '.');
}

export const clock = (seconds: number): string => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, '0')}`;

export function filmTime(seconds: number): string {
  const s = Math.max(0, Math.floor(seconds));
  return `${Math.floor(s / 3600)}:${String(Math.floor(s / 60) % 60).padStart(2, '0')}:${String(s % 60).padStart(2, '0')}`;
}

export const at = (r: Row): string => (r.period ? `P${r.period}${r.clock === undefined ? '' : ` ${clock(r.clock)}`}` : 'no clock');

export function score(r: Row): string {
  if (r.margin === undefined) return 'score not charted';
  if (r.margin === 0) return 'level';
  return r.margin > 0 ? `defence up ${r.margin}` : `defence down ${-r.margin}`;
}

export function ended(r: Row): string {
  if (!r.end) return 'no end charted';
  let text = say(r.end);
  if (r.turnover) text += ` (${say(r.turnover)})`;
  if (r.points > 0) return `${text}, ${plural(r.points, 'point')}`;
  if (r.ball === 'offence') return `${text}, the offence keeps the ball`;
  if (r.ball === 'defence') return `${text}, the defence has the ball`;
  return text;
}

