// Putting right what was charted: always by corrections, so that the trail can
// be read.
import type { Book } from './book.svelte';
import type { ChanceEnded, Draft, Event } from './events';
import { upcoming, type ActionRow, type ChanceRow } from './fold';
import * as moves from './moves';
import { nextBall } from './rules';

// Waiting is a change that still needs an end, given by the next end's key.
export type Waiting = { what: 'split'; chance: ChanceRow; at: number } | { what: 'insert'; behind: ChanceRow } | { what: 'end'; chance: ChanceRow };

export class Mending {
  waiting: Waiting | null = $state.raw(null);

  constructor(private book: Book, private say: (drafts: Draft[]) => Promise<string[]>) {}

  // reassign says that the last so many actions by one were another's.
  async reassign(from: string, to: string, count: number): Promise<void> {
    const r = moves.reassign(this.book.chart, from, to, count);
    if (r) await this.say([r.draft]);
  }

  // lastOf lists what a reassignment would touch.
  lastOf(player: string, count: number): ActionRow[] {
    return moves.reassign(this.book.chart, player, '', count)?.rows ?? [];
  }

  async join(c: ChanceRow): Promise<string | undefined> {
    const list = this.book.chart.chances;
    const before = list[list.findIndex((x) => x.id === c.id) - 1];
    if (!before) return undefined;
    await this.say(moves.join(before, c));
    return before.id;
  }

  drop(c: ChanceRow): Promise<string[]> {
    return this.say(moves.dropChance(c));
  }

  // ended gives a waiting change its end, and returns the chance to look at.
  async ended(body: Omit<ChanceEnded, 'chance'>): Promise<string | undefined> {
    const w = this.waiting;
    this.waiting = null;
    if (w?.what === 'split') {
      const next = nextBall(w.chance.offence, w.chance.defence, { chance: w.chance.id, ...body });
      await this.say(moves.split(w.chance, w.at, body, next.offence, next.origin));
      return w.chance.id;
    }
    if (w?.what === 'insert') {
      const { drafts, id } = moves.insert(w.behind, upcoming(w.behind).offence, body);
      await this.say(drafts);
      return id;
    }
    if (w?.what === 'end') {
      await this.say(moves.changeEnd(w.chance, body));
      return w.chance.id;
    }
    return undefined;
  }

  // trail is everything that was ever corrected in a chance, oldest first.
  trail(c: ChanceRow): { event: Event; of: string; before: unknown }[] {
    const rows = [...this.book.chart.rows.values()].filter((s) => {
      const b = s.body as { chance?: string };
      const first = s.event.body as { chance?: string };
      return s.event.id === c.id || b.chance === c.id || first.chance === c.id;
    });
    const out = rows.flatMap((s) => s.trail.map((event, i) => ({ event, of: s.event.type, before: bodyBefore(s.event, s.trail.slice(0, i)) })));
    return out.sort((a, b) => (a.event.id < b.event.id ? -1 : 1));
  }
}

function bodyBefore(e: Event, earlier: Event[]): unknown {
  const last = earlier.findLast((c) => c.type === 'amended' && (c.body as { body?: unknown }).body !== undefined);
  return last ? (last.body as { body: unknown }).body : e.body;
}
