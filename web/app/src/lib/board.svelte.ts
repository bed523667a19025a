// The Board's numbers, as the server counts them, kept up to date.
import { boardSocket, type BoardMessage, type BoardPlayer } from './api';

export class Board {
  players: Map<string, BoardPlayer> = $state.raw(new Map());
  teams: Record<string, string> = $state.raw({});
  definition = $state('');
  games = $state(0);
  invented = $state(false);
  connected = $state(false);
  loaded = $state(false);
  moved: Set<string> = $state.raw(new Set()); // players whose numbers moved last
  private ws?: WebSocket;
  private timer?: ReturnType<typeof setTimeout>;
  private closed = false;

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
    ws.onmessage = (m) => this.hear(JSON.parse(m.data as string) as BoardMessage);
    ws.onclose = () => {
      this.connected = false;
      if (!this.closed) this.timer = setTimeout(() => this.connect(), 1000);
    };
  }

  private hear(m: BoardMessage): void {
    if (m.op === 'board') {
      this.players = new Map((m.players ?? []).map((p) => [p.id, p]));
      this.teams = m.teams ?? {};
      this.definition = m.definition ?? '';
      this.games = m.games ?? 0;
      this.invented = m.invented ?? false;
      this.loaded = true;
    } else if (m.op === 'players') {
      const next = new Map(this.players);
      const moved = new Set<string>();
      for (const p of m.players ?? []) {
        if (JSON.stringify(next.get(p.id)?.rows) !== JSON.stringify(p.rows)) moved.add(p.id);
        if (p.rows.length > 0) next.set(p.id, p);
        else next.delete(p.id);
      }
      this.players = next;
      if (moved.size > 0) this.moved = moved;
    }
  }
}
