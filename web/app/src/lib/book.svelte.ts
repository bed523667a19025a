// One chart as this page works on it: its events, kept here and on the server,
// and what they fold to.
import { draft, newPad, type Draft, type Event, type GameOpened } from './events';
import { fold, type Chart } from './fold';
import { Line } from './line';
import { Store, type Author, type Kept, type State } from './store';
import type { Vocabulary } from './vocabulary';

export interface Refusal { id: string; reason: string; type: string }

// pad names this page's lifetime.
export const pad = newPad();

export class Book {
  chart: Chart = $state.raw() as Chart;
  connected = $state(false);
  safe = $state(0);
  waiting = $state(0);
  refused: Refusal[] = $state([]);
  trouble = $state(''); // why the server does not store, while it says so
  latest = $state(''); // the id of the last event another charter sent
  news: () => void = () => undefined; // called when others' events have come
  readonly by: Author;
  private all = new Map<string, Event>();
  private states = new Map<string, State>();
  private line: Line;
  private others: BroadcastChannel;

  private constructor(readonly vocabulary: Vocabulary, private store: Store, by: Author, private game?: GameOpened) {
    this.by = by;
    this.chart = fold(vocabulary, this.all, game);
    this.line = new Line(store, by.game, by.chart, {
      told: (list) => this.told(list),
      marked: (id, state, reason) => this.marked(id, state, reason),
      connected: (on, why) => {
        this.connected = on;
        if (why) this.trouble = why;
      }
    });
    this.others = new BroadcastChannel(`stopledger/${by.game}/${by.chart}`);
    this.others.onmessage = (m) => this.told([JSON.parse(m.data as string) as Event]);
  }

  static async open(v: Vocabulary, by: Author, game?: GameOpened): Promise<Book> {
    const store = await Store.open();
    const book = new Book(v, store, by, game);
    const after = await store.cursor(by); // before the events, so that none behind it is missed
    for (const k of await store.all(by)) book.file(k);
    book.refold();
    book.line.start(after);
    return book;
  }

  close(): void {
    this.line.stop();
    this.others.close();
  }

  // say charts facts: kept on this machine when it returns, then sent.
  async say(drafts: Draft[]): Promise<string[]> {
    const kept = await this.store.mint(this.by, drafts);
    for (const k of kept) this.file(k);
    this.refold();
    this.line.send(kept);
    for (const k of kept) this.others.postMessage(k.raw);
    return kept.map((k) => k.id);
  }

  // rename is for openings: the same facts again with more in them.
  reopen(change: Partial<GameOpened>): Draft {
    return draft('game-opened', { ...this.chart.info!, ...change });
  }

  private file(k: Kept): void {
    const e = JSON.parse(k.raw) as Event;
    this.all.set(e.id, e);
    this.marked(k.id, k.state, k.reason);
  }

  private told(list: Event[]): void {
    let news = false;
    for (const e of list) {
      if (this.all.has(e.id)) continue;
      this.all.set(e.id, e);
      news = true;
      if (e.pad !== this.by.pad) this.latest = e.id;
    }
    if (!news) return;
    this.refold();
    this.news();
  }

  private marked(id: string, state: State, reason?: string): void {
    const old = this.states.get(id);
    if (old === 'safe' || (old === state && state !== 'waiting')) return;
    this.states.set(id, state);
    this.safe += (state === 'safe' ? 1 : 0) - (old === ('safe' as State) ? 1 : 0);
    this.waiting += (state === 'waiting' ? 1 : 0) - (old === 'waiting' ? 1 : 0);
    this.trouble = state === 'waiting' ? (reason ?? this.trouble) : '';
    if (state === 'refused') this.refused = [...this.refused, { id, reason: reason ?? '', type: this.all.get(id)?.type ?? '' }];
  }

  private refold(): void {
    this.chart = fold(this.vocabulary, this.all, this.game);
  }
}
