import { expect, test } from 'vitest';
import type { ListedChart, ListedGame } from './api';
import { filmTime, most, onPad, sentence, sorted, stands, whereIs } from './words';

test('places and times as a coach says them', () => {
  expect(whereIs({})).toBe('no moment known');
  expect(whereIs({ period: 3 })).toBe('period 3');
  expect(whereIs({ period: 3, clock: 252 })).toBe('period 3, 4:12');
  expect(whereIs({ period: 4, clock: 5.3 })).toBe('period 4, 0:05.3');
  expect(filmTime(754)).toBe('12:34');
  expect(filmTime(3725)).toBe('1:02:05');
});

test('a place opens on the Pad by what it is about, else by its clock', () => {
  expect(onPad('g', 'main', { period: 2, clock: 30, chance: 'c', event: 'e' })).toBe('/pad/g/main?at=e&period=2&clock=30');
  expect(onPad('g', 'main', { period: 2 })).toBe('/pad/g/main?period=2');
  expect(onPad('g', 'main', {})).toBe('/pad/g/main');
});

test('the change that goes furthest is the one said', () => {
  const list = [{ name: 'drive stop rate', from: 0.5, to: 0.5 }, { name: 'ball-screen stop rate', from: 0.54, to: 0.471 }, { name: 'chase stop rate', from: 0.3, to: 0.31 }];
  expect(sentence(most(list)!)).toBe('ball screen stop rate from 54.0\u00a0% to 47.1\u00a0%');
  expect(most([{ name: 'post stop rate', from: 0.2, to: 0.20004 }])).toBeUndefined();
  expect(sentence({ name: 'post stop rate', from: null, to: 1 })).toBe('post stop rate from nothing charted to 100.0\u00a0%');
});

const chart = (name: string, more: Partial<ListedChart>): ListedChart => ({
  chart: name, charters: [], holds: '', closed: true, chances: 0, actions: 0, counts: {},
  coverage: { held: 0, defended: 0, played: 0, basis: 'unknown', share: null, charted: null }, totals: 'agree', ...more
});
const game = (id: string, date: string, ...charts: ListedChart[]): ListedGame => ({ game: id, digest: id, date, home: 'H', away: 'A', record: 'main', charts });
const covered = (share: number) => ({ held: 0, defended: 0, played: 100, basis: 'totals', share, charted: share });

test('sorting puts the newest or the worst first', () => {
  const games = [
    game('a', '2031-01-01', chart('main', { coverage: covered(0.95), counts: { odd: 9 } })),
    game('b', '2031-01-03', chart('main', { coverage: covered(0.6) }), chart('second', { counts: { serious: 1 } })),
    game('c', '2031-01-02', chart('main', { totals: 'differ', differing: ['x'] }))
  ];
  const ids = (by: Parameters<typeof sorted>[1], back = false) => sorted(games, by, back).map((g) => g.game).join('');
  expect(ids('date')).toBe('bca');
  expect(ids('date', true)).toBe('acb');
  expect(ids('coverage')).toBe('bac');
  expect(ids('findings')).toBe('bac');
  expect(ids('totals')[0]).toBe('c');
  expect(games.filter((g) => stands(g, 'gaps')).map((g) => g.game)).toEqual(['b']);
  expect(games.filter((g) => stands(g, 'twice')).map((g) => g.game)).toEqual(['b']);
  expect(games.filter((g) => stands(g, 'differ')).map((g) => g.game)).toEqual(['c']);
});
