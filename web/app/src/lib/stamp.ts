// When something is charted: the clock, the film, and behind what it stands
// where the clock alone would put it wrong.
import type { Clock } from './clock.svelte';
import type { When } from './events';
import type { Film } from './film.svelte';
import type { ChanceRow } from './fold';
import type { Moment } from './moves';

export class Stamp {
  private last: { period: number; clock: number } | null = null;
  private lastID = '';

  constructor(private clock: Clock) {}

  charted(id: string): void {
    this.lastID = id;
  }

  // now stamps what happens in play. A clock that was set back up would put it
  // before what was charted already, so then it is tied to that; on film going
  // back is meant.
  now(film: Film | null): Moment {
    this.clock.tick();
    const when: When = { period: this.clock.period };
    if (film) when.film = { id: film.id, at: round(film.time()) };
    if (!this.clock.started) return { when };
    when.clock = this.clock.now();
    when.from = film ? 'film' : this.clock.running ? 'ticked' : 'typed';
    const last = this.last;
    if (!film && last && last.period === when.period && when.clock > last.clock && this.lastID) return { when, after: this.lastID };
    this.last = { period: when.period!, clock: when.clock };
    return { when };
  }

  // late stamps what is added to an earlier chance: right behind what it holds.
  late(c: ChanceRow, film: Film | null): Moment {
    const behind = c.actions.at(-1)?.row ?? c.row;
    const when: When = { period: behind.period, from: 'inferred' };
    if (behind.clock !== undefined) when.clock = behind.clock;
    if (film) when.film = { id: film.id, at: round(film.time()) };
    return { when, after: behind.event.id };
  }
}

const round = (seconds: number): number => Math.round(seconds * 1000) / 1000;
