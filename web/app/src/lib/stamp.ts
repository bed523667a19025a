// When something is charted: the clock, the film, and behind what it stands
// where the clock alone would put it wrong.
import type { Clock } from './clock.svelte';
import type { When } from './events';
import type { Film } from './film.svelte';
import type { ChanceRow, Chart } from './fold';
import type { Moment } from './moves';

// now stamps what happens in play. Where the clock does not put it behind what
// was charted last (it stands, it was set back up, or there is none, and another
// page charted before) it is tied to that. On film going back is meant.
export function now(chart: Chart, pad: string, clock: Clock, film: Film | null): Moment {
  clock.tick();
  const when: When = { period: clock.period };
  if (film) when.film = { id: film.id, at: round(film.time()) };
  if (clock.started) {
    when.clock = clock.now();
    when.from = film ? 'film' : clock.running ? 'ticked' : 'typed';
  }
  const last = chart.last;
  if (!last || last.period !== when.period) return { when };
  const here = when.clock ?? Infinity;
  const there = last.clock ?? Infinity;
  const wentUp = here > there && !film;
  const unordered = here === there && (last.event.pad !== pad || last.event.after !== undefined);
  return wentUp || unordered ? { when, after: last.event.id } : { when };
}

// late stamps what is added to an earlier chance: right behind what it holds.
export function late(c: ChanceRow, film: Film | null): Moment {
  const behind = c.actions.at(-1)?.row ?? c.row;
  const when: When = { period: behind.period, from: 'inferred' };
  if (behind.clock !== undefined) when.clock = behind.clock;
  if (film) when.film = { id: film.id, at: round(film.time()) };
  return { when, after: behind.event.id };
}

const round = (seconds: number): number => Math.round(seconds * 1000) / 1000;
