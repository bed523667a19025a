// Charting from film: which film, how it ties to the game clock, and blind mode,
// in which a reading is taken before its result is seen.
import { filmTime, marksOf } from './anchors';
import type { Book } from './book.svelte';
import type { Clock } from './clock.svelte';
import { draft, type Draft } from './events';
import { Film } from './film.svelte';
import type { ChanceRow } from './fold';

const leadIn = 4; // seconds before a chance that a jump goes to
const beforeRelease = 1.5; // seconds before a charted end that blind mode stops

export class FilmRoom {
  film: Film | null = $state.raw(null);
  blind = $state(false);
  note = $state('');
  private stoppedFor = ''; // the chance blind mode has already stopped before

  constructor(private book: Book, private clock: Clock, private say: (drafts: Draft[]) => Promise<string[]>) {}

  anchors = $derived.by(() => this.book.chart.anchors.filter((a) => a.film === this.film?.id));

  async open(file: File): Promise<void> {
    this.film?.close();
    const film = await Film.open(file);
    this.film = film;
    const known = this.book.chart.films.find((f) => f.id === film.id);
    this.note = known ? (known.name === film.name ? '' : `known here as ${known.name}`) : '';
    if (!known) {
      await this.say([draft('film-linked', {
        id: film.id, name: film.name, bytes: film.bytes, ...(film.fingerprint ? { fingerprint: film.fingerprint } : {})
      })]);
    }
    this.clock.follow(film.time, marksOf(this.anchors));
  }

  close(): void {
    this.film?.close();
    this.film = null;
    this.blind = false;
    this.clock.follow(null);
  }

  // anchor says that the film shows this clock now.
  async anchor(): Promise<void> {
    const film = this.film;
    if (!film) return;
    this.clock.tick();
    await this.say([draft('film-anchored', { film: film.id, at: Math.round(film.time() * 1000) / 1000, period: this.clock.period, clock: this.clock.now() })]);
  }

  // run starts or stops the game clock; on film that is an anchor too.
  async run(): Promise<void> {
    this.clock.toggle();
    await this.anchor();
  }

  // go jumps to where a chance begins.
  go(c: ChanceRow): void {
    const at = this.where(c.row.when.film, c.period, c.clock);
    if (at !== null) this.film?.seek(at - leadIn);
    this.stoppedFor = '';
  }

  private where(own: { id: string; at: number } | undefined, period: number, clock: number | undefined): number | null {
    if (!this.film) return null;
    if (own?.id === this.film.id) return own.at;
    return clock === undefined ? null : filmTime(this.anchors, period, clock);
  }

  // tick keeps the loop, and in blind mode stops before the chance's charted end.
  tick(c: ChanceRow | undefined): void {
    this.film?.tick();
    if (!this.blind || !this.film?.playing || !c?.endRow || this.stoppedFor === c.id) return;
    const end = this.where(c.endRow.when.film, c.endRow.period ?? 0, c.endRow.clock);
    if (end !== null && this.film.time() >= end - beforeRelease && this.film.time() < end) {
      this.stoppedFor = c.id;
      this.film.pause();
    }
  }

  // taken lets the film play on after a blind reading.
  taken(): void {
    if (this.blind) this.film?.play();
  }
}
