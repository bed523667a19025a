import { afterEach, expect, test, vi } from 'vitest';
import { enter, firstPage, takeKey } from './access';

afterEach(() => vi.unstubAllGlobals());

test('the key leaves the address bar and the history', () => {
  const replaced: unknown[] = [];
  vi.stubGlobal('location', { hash: '#12345678.secret', pathname: '/enter' });
  vi.stubGlobal('history', { replaceState: (...args: unknown[]) => replaced.push(args[2]) });
  expect(takeKey()).toBe('12345678.secret');
  expect(replaced).toEqual(['/enter']);
});

test('a refusal is told in the server’s words', async () => {
  vi.stubGlobal('fetch', async () => new Response(JSON.stringify({ error: { kind: 'forbidden', reason: 'this link was opened before' } }), { status: 403 }));
  await expect(enter('k')).rejects.toThrow('this link was opened before');
  vi.stubGlobal('fetch', async () => { throw new TypeError('no line'); });
  await expect(enter('k')).rejects.toThrow('the link is still good');
});

test('everybody begins where his work is', () => {
  expect(firstPage({ role: 'coach', who: 'c' })).toBe('/board');
  expect(firstPage({ role: 'charter', who: 'a', games: ['g1'] })).toBe('/pad/g1/main');
  expect(firstPage({ role: 'charter', who: 'a' })).toBe('/');
  expect(firstPage({ role: 'owner', who: 'o' })).toBe('/');
});
