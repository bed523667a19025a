// The line to the server: one websocket for one chart, opened again whenever it
// breaks. What waits goes out in order, a window at a time.
import { appendMessage, padSocket, type PadMessage } from './api';
import type { Event } from './events';
import type { Kept, State, Store } from './store';

const windowSize = 32;
const patience = [250, 500, 1000, 2000, 4000, 8000];

export interface LineEvents {
  told(list: Event[]): void; // events from the server, our own included
  marked(id: string, state: State, reason?: string): void;
  connected(on: boolean, why?: string): void; // why: the server hung up and said so
}

export class Line {
  private ws?: WebSocket;
  private queue: Kept[] = [];
  private flying = new Map<string, Kept>();
  private tries = 0;
  private timer?: ReturnType<typeof setTimeout>;
  private closed = false;
  private greeted = false;
  private after = 0; // how far this page was told; another tab may be farther
  private work: Promise<void> = Promise.resolve(); // messages are handled one by one

  constructor(private store: Store, readonly game: string, readonly chart: string, private to: LineEvents) {}

  // start opens the line; after is how far what the page has loaded was told.
  start(after: number): void {
    this.after = after;
    addEventListener('online', this.now);
    this.connect();
  }

  stop(): void {
    this.closed = true;
    removeEventListener('online', this.now);
    clearTimeout(this.timer);
    this.ws?.close();
  }

  // send hands over what was just charted.
  send(list: Kept[]): void {
    if (!this.greeted) return; // the greeting sends everything that waits
    this.queue.push(...list);
    this.pump();
  }

  private now = () => {
    if (this.ws) return;
    clearTimeout(this.timer);
    this.connect();
  };

  private connect(): void {
    const ws = padSocket();
    this.ws = ws;
    this.greeted = false;
    ws.onopen = () => ws.send(JSON.stringify({ op: 'hello', game: this.game, chart: this.chart, after: this.after }));
    ws.onmessage = (m) => {
      const message = JSON.parse(m.data as string) as PadMessage;
      this.work = this.work.then(() => this.hear(ws, message));
    };
    ws.onclose = (e) => this.lost(ws, e.reason);
  }

  private lost(ws: WebSocket, why?: string): void {
    if (this.ws !== ws) return;
    this.ws = undefined;
    this.greeted = false;
    this.queue = [];
    this.flying.clear();
    this.to.connected(false, why || undefined);
    if (this.closed) return;
    const wait = patience[Math.min(this.tries++, patience.length - 1)]!;
    this.timer = setTimeout(() => this.connect(), wait * (0.7 + 0.6 * Math.random()));
  }

  private async hear(ws: WebSocket, m: PadMessage): Promise<void> {
    if (this.ws !== ws) return;
    switch (m.op) {
      case 'hello': return this.welcome(ws, m.at ?? 0);
      case 'events': return this.take(m.events.map((e) => e.event), m.at);
      case 'safe': return this.settle(m.id, 'safe');
      case 'refused': return this.settle(m.id, 'refused', reasonOf(m.error.field, m.error.reason));
      case 'later': // the server is there but cannot store: come back later
        ws.close();
        this.to.marked(m.id, 'waiting', m.error.reason);
    }
  }

  private async welcome(ws: WebSocket, at: number): Promise<void> {
    if (at < this.after) {
      this.after = 0;
      await this.store.forgetPlace(this);
      ws.close();
      return;
    }
    this.to.connected(true);
    this.greeted = true;
    const list = await this.store.waiting(this);
    for (const k of await this.store.all(this)) if (k.state !== 'waiting') this.to.marked(k.id, k.state, k.reason); // another tab may have settled it
    if (list.length === 0) this.tries = 0; // else the first safe event shows that the server stores
    this.queue.push(...list.filter((k) => !this.flying.has(k.id) && !this.queue.some((q) => q.id === k.id)));
    this.queue.sort((a, b) => (a.pad === b.pad ? a.n - b.n : a.id < b.id ? -1 : 1));
    this.pump();
  }

  private pump(): void {
    while (this.queue.length > 0 && this.flying.size < windowSize && this.ws?.readyState === WebSocket.OPEN) {
      const k = this.queue.shift()!;
      this.flying.set(k.id, k);
      this.ws.send(appendMessage(k.raw));
    }
  }

  private async settle(id: string, state: State, reason?: string): Promise<void> {
    this.flying.delete(id);
    this.tries = 0;
    await this.store.mark(id, state, reason);
    this.to.marked(id, state, reason);
    this.pump();
  }

  private async take(list: Event[], at: number): Promise<void> {
    await this.store.take(this, list.map((e) => ({ id: e.id, pad: e.pad, n: e.n, raw: JSON.stringify(e) })), at);
    this.after = at;
    for (const e of list) this.to.marked(e.id, 'safe');
    this.to.told(list);
  }
}

const reasonOf = (field: string | undefined, reason: string): string => (field ? `${field}: ${reason}` : reason);
