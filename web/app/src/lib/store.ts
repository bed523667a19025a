// What this machine keeps: every event of the charts it works on, with the
// ones still waiting for the server. An event and its number are written in
// one transaction, flushed to disk, before the Pad says "charted".
import { openDB, type DBSchema, type IDBPDatabase } from 'idb';
import type { Draft, Event } from './events';
import { uuid7 } from './events';

export type State = 'waiting' | 'safe' | 'refused';

export interface Kept {
  id: string;
  chart: string; // game/chart
  pad: string;
  n: number;
  raw: string; // the very bytes that are sent
  state: State;
  reason?: string;
  own: boolean; // minted on this machine
}

interface Schema extends DBSchema {
  events: { key: string; value: Kept; indexes: { chart: string; state: [string, State] } };
  counters: { key: string; value: number };
  cursors: { key: string; value: number };
}

export interface Author { game: string; chart: string; charter: string; pad: string }

const chartOf = (a: Pick<Author, 'game' | 'chart'>): string => `${a.game}/${a.chart}`;

export class Store {
  private constructor(private db: IDBPDatabase<Schema>) {}

  static async open(name = 'stopledger'): Promise<Store> {
    const db = await openDB<Schema>(name, 1, {
      upgrade(db) {
        const events = db.createObjectStore('events', { keyPath: 'id' });
        events.createIndex('chart', 'chart');
        events.createIndex('state', ['chart', 'state']);
        db.createObjectStore('counters');
        db.createObjectStore('cursors');
      }
    });
    return new Store(db);
  }

  // mint gives drafts their numbers and keeps them; they are on disk when it
  // returns.
  async mint(by: Author, drafts: Draft[], recorded = new Date()): Promise<Kept[]> {
    const tx = this.db.transaction(['events', 'counters'], 'readwrite', { durability: 'strict' });
    const key = `${chartOf(by)}/${by.pad}`;
    let n = (await tx.objectStore('counters').get(key)) ?? 0;
    const kept = drafts.map((d) => {
      n++;
      const e: Event = {
        v: 1, id: d.id ?? uuid7(), game: by.game, chart: by.chart, charter: by.charter, pad: by.pad, n,
        recorded: recorded.toISOString(), ...(d.when ? { when: d.when } : {}), ...(d.after ? { after: d.after } : {}),
        type: d.type, body: d.body
      };
      return { id: e.id, chart: chartOf(by), pad: by.pad, n, raw: JSON.stringify(e), state: 'waiting', own: true } satisfies Kept as Kept;
    });
    for (const k of kept) void tx.objectStore('events').put(k);
    void tx.objectStore('counters').put(n, key);
    await tx.done;
    return kept;
  }

  // take keeps events that the server told, and notes how far it told them.
  async take(chart: Pick<Author, 'game' | 'chart'>, list: { id: string; pad: string; n: number; raw: string }[], at: number): Promise<void> {
    const tx = this.db.transaction(['events', 'cursors'], 'readwrite');
    const events = tx.objectStore('events');
    for (const e of list) {
      const old = await events.get(e.id);
      if (old?.state === 'safe') continue;
      void events.put({ ...e, raw: old?.raw ?? e.raw, chart: chartOf(chart), state: 'safe', own: old?.own ?? false });
    }
    void tx.objectStore('cursors').put(at, chartOf(chart));
    await tx.done;
  }

  async mark(id: string, state: State, reason?: string): Promise<void> {
    const tx = this.db.transaction('events', 'readwrite');
    const old = await tx.store.get(id);
    if (old) void tx.store.put({ ...old, state, reason });
    await tx.done;
  }

  all(chart: Pick<Author, 'game' | 'chart'>): Promise<Kept[]> {
    return this.db.getAllFromIndex('events', 'chart', chartOf(chart));
  }

  // waiting lists what has to go out, in the order in which it was charted.
  async waiting(chart: Pick<Author, 'game' | 'chart'>): Promise<Kept[]> {
    const list = await this.db.getAllFromIndex('events', 'state', [chartOf(chart), 'waiting']);
    return list.sort((a, b) => (a.pad === b.pad ? a.n - b.n : a.id < b.id ? -1 : 1));
  }

  async cursor(chart: Pick<Author, 'game' | 'chart'>): Promise<number> {
    return (await this.db.get('cursors', chartOf(chart))) ?? 0;
  }

  // forgetPlace makes the next line tell everything again, and sends our own
  // events again: the server turned out to hold less than it once said.
  async forgetPlace(chart: Pick<Author, 'game' | 'chart'>): Promise<void> {
    const tx = this.db.transaction(['events', 'cursors'], 'readwrite');
    for (const k of await tx.objectStore('events').index('chart').getAll(chartOf(chart))) {
      if (k.own && k.state === 'safe') void tx.objectStore('events').put({ ...k, state: 'waiting' });
    }
    void tx.objectStore('cursors').put(0, chartOf(chart));
    await tx.done;
  }

  // charts lists what is kept here, for a games page without a line.
  async charts(): Promise<{ chart: string; waiting: number }[]> {
    const out = new Map<string, number>();
    let at = await this.db.transaction('events').store.index('chart').openCursor();
    for (; at; at = await at.continue()) out.set(at.value.chart, (out.get(at.value.chart) ?? 0) + (at.value.state === 'waiting' ? 1 : 0));
    return [...out].map(([chart, waiting]) => ({ chart, waiting }));
  }
}
