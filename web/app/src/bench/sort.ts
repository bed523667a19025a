// Sorting of a table of numbers. What cannot be said of a group stands last,
// whichever way the rest is turned.
import type { Group } from './types';

export interface Sort { by: number | 'actions' | 'chances' | 'games' | 'weight' | 'stop_rate' | 'points' | 'points_per_chance' | 'held' | 'even' | 'broken' | 'unclear' | 'undecided'; down: boolean }

export function sorted(groups: Group[], s: Sort): Group[] {
  const { by } = s;
  const sign = s.down ? -1 : 1;
  if (typeof by === 'number') return [...groups].sort((a, b) => sign * (a.key[by] ?? '').localeCompare(b.key[by] ?? '', 'en', { numeric: true }));
  return [...groups].sort((a, b) => {
    const x = a[by];
    const y = b[by];
    if (x === null || y === null) return Number(x === null) - Number(y === null);
    return sign * (x - y);
  });
}
