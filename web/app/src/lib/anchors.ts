// Anchors tie film time to the game clock, piece by piece: between two of them
// the clock ran or stood, and nothing is interpolated across a cut.
import type { ClockMark } from './clock.svelte';
import type { Bodies } from './events';

type Anchor = Bodies['film-anchored'];

const slack = 1.5; // seconds by which film and clock may differ and still have run together

// marksOf makes a clock's marks of a film's anchors: it ran where the next
// anchor shows that it did, and after the last one.
export function marksOf(anchors: Anchor[]): ClockMark[] {
  const list = [...anchors].sort((a, b) => a.at - b.at);
  return list.map((a, i) => {
    const next = list[i + 1];
    const stood = next && next.period === a.period && Math.abs(next.clock - a.clock) < 0.05;
    return { at: a.at, period: a.period, left: a.clock, running: !stood };
  });
}

// filmTime finds a moment of play on a film, or null without an anchor in its
// period.
export function filmTime(anchors: Anchor[], period: number, clock: number): number | null {
  const list = anchors.filter((a) => a.period === period).sort((a, b) => a.at - b.at);
  for (const [i, a] of list.entries()) {
    const b = list[i + 1];
    if (!b || clock > a.clock || clock < b.clock) continue;
    const together = Math.abs(b.at - a.at - (a.clock - b.clock)) <= slack;
    return together || clock - b.clock > a.clock - clock ? a.at + (a.clock - clock) : b.at - (clock - b.clock);
  }
  const near = list.toSorted((a, b) => Math.abs(a.clock - clock) - Math.abs(b.clock - clock))[0];
  return near ? Math.max(0, near.at + (near.clock - clock)) : null;
}
