// A small invented game for the tests.
import type { Bodies, Event, Type } from './events';
import type { Vocabulary } from './vocabulary';
import words from './vocabulary.sample.json';

export const vocabulary = words as unknown as Vocabulary;

// Script makes events as a pad would, with readable ids.
export class Script {
  all = new Map<string, Event>();
  private n = 0;

  constructor(private pad = 'p1', private charter = 'ana') {}

  add<T extends Type>(type: T, body: Bodies[T], rest: Partial<Event> = {}): string {
    const n = ++this.n;
    const id = rest.id ?? `0198f0c2-7c1e-7b1a-9a55-${this.pad.padStart(4, '0').replace(/[^0-9a-f]/g, '0')}${String(n).padStart(8, '0')}`;
    this.all.set(id, { v: 1, id, game: 'g', chart: 'main', charter: this.charter, pad: this.pad, n, type, body, ...rest });
    return id;
  }

  open(): this {
    const players = [1, 2, 3, 4, 5, 12, 21].flatMap((n) => ['h', 'm'].map((team) => ({ id: `${team}-${n}`, team, number: String(n), role: n < 3 ? 'guard' : 'wing' })));
    this.add('game-opened', { rules: 'fiba', home: { id: 'h', name: 'Harbour' }, away: { id: 'm', name: 'Millstone' }, players });
    for (const team of ['h', 'm']) this.add('lineup-set', { team, players: [1, 2, 3, 4, 5].map((n) => `${team}-${n}`) }, { when: { period: 1 } });
    return this;
  }

  chance(offence: string, clock: number, actions: Partial<Bodies['action']>[], end: Omit<Bodies['chance-ended'], 'chance'> | null): string {
    const chance = this.add('chance-began', { offence }, { when: { period: 1, clock } });
    for (const a of actions) this.add('action', { chance, kind: 'drive', outcome: 'stopped', ...a }, { when: { period: 1, clock: clock - 2 } });
    if (end) this.add('chance-ended', { chance, ...end }, { when: { period: 1, clock: clock - 5 } });
    return chance;
  }
}
