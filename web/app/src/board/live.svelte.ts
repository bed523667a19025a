// The line over which the server says that something moved.
import { boardSocket } from '../lib/api';

export class Live {
  moved = $state(0); // counts up whenever pages should ask again
  connected = $state(false);
  games: string[] = $state.raw([]); // that moved last
  private ws?: WebSocket;
  private timer?: ReturnType<typeof setTimeout>;
  private closed = false;
  private first = true;

  constructor() {
    this.connect();
  }

  close(): void {
    this.closed = true;
    clearTimeout(this.timer);
    this.ws?.close();
  }

  private connect(): void {
    const ws = boardSocket();
    this.ws = ws;
    ws.onopen = () => (this.connected = true);
    ws.onmessage = (m) => {
      const said = JSON.parse(m.data as string) as { games: string[] };
      this.games = said.games;
      if (!this.first) this.moved++;
      this.first = false; // the page has just asked
    };
    ws.onclose = () => {
      this.connected = false;
      if (!this.closed) this.timer = setTimeout(() => this.connect(), 1000);
    };
  }
}
