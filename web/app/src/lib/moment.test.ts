import { expect, test } from 'vitest';
import type { ChanceRow } from './fold';
import { chanceAt, momentOf } from './moment';

const chance = (id: string, period: number, clock?: number): ChanceRow =>
  ({ id, period, clock, actions: [{ id: `${id}-a` }], endRow: { event: { id: `${id}-e` } } }) as unknown as ChanceRow;
const list = [chance('a', 1, 590), chance('b', 1, 560), chance('c', 2, 600), chance('d', 2, 571), chance('e', 3)];

test.each([
  ['?at=b', 'b'],
  ['?at=b-a', 'b'],
  ['?at=d-e', 'd'],
  ['?at=gone', undefined],
  ['?at=gone&period=2&clock=580', 'c'],
  ['?period=1&clock=561.5', 'a'],
  ['?period=1&clock=0', 'b'],
  ['?period=2&clock=650', 'c'],
  ['?period=3&clock=100', 'e'],
  ['?period=4', undefined]
])('%s means chance %s', (search, want) => {
  expect(chanceAt(list, momentOf(search)!)).toBe(want);
});

test('a plain link names no moment', () => {
  expect(momentOf('')).toBeNull();
  expect(momentOf('?watch=chase')).toBeNull();
});
