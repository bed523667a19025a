// Who looks at the pages, and the link that let them in. A link's key stands
// behind its #, which browsers send to nobody; it is taken out of the address
// bar and the history before anything else happens.
import { ServerError, type Fault } from './api';

export interface Me { role: 'coach' | 'charter' | 'analyst' | 'owner'; who: string; games?: string[]; until?: string }

export function takeKey(): string {
  const key = location.hash.slice(1);
  if (key) history.replaceState(null, '', location.pathname);
  return key;
}

// enter changes a link's key into this device's cookie. The server does that
// once for a device.
export const enter = (key: string): Promise<Me> => post<Me>('/api/enter', { key });
export const leave = (): Promise<unknown> => post('/api/leave', {});

async function post<T>(path: string, body: unknown): Promise<T> {
  let answer: Response;
  try {
    answer = await fetch(path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
  } catch {
    throw new ServerError({ kind: 'offline', reason: 'the server does not answer; the link is still good, open it again later' });
  }
  const told = (await answer.json().catch(() => null)) as (T & { error?: Fault }) | null;
  if (!answer.ok || !told) throw new ServerError(told?.error ?? { kind: 'internal', reason: `the server said ${answer.status}` });
  return told;
}

// firstPage is where somebody begins: a charter of one game at its Pad.
export function firstPage(me: Me): string {
  if (me.role === 'coach') return '/board';
  if (me.role === 'charter' && me.games?.length === 1) return `/pad/${me.games[0]}/main`;
  return '/';
}
