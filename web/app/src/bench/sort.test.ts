import { describe, expect, it } from 'vitest';
import { sorted } from './sort';
import type { Group } from './types';

const group = (name: string, stop_rate: number | null): Group => ({ key: [name], stop_rate }) as Group;
const list = [group('h-12', 0.4), group('h-3', null), group('h-1', 0.9)];
const names = (l: Group[]) => l.map((g) => g.key[0]).join(' ');

describe('sorting a table', () => {
  it('puts what has no rate last either way', () => {
    expect(names(sorted(list, { by: 'stop_rate', down: true }))).toBe('h-1 h-12 h-3');
    expect(names(sorted(list, { by: 'stop_rate', down: false }))).toBe('h-12 h-1 h-3');
  });
  it('counts shirt numbers as numbers', () => expect(names(sorted(list, { by: 0, down: false }))).toBe('h-1 h-3 h-12'));
  it('leaves the list as it was', () => expect(names(list)).toBe('h-12 h-3 h-1'));
});
