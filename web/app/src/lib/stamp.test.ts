import { describe, expect, it } from 'vitest';
import { Clock } from './clock.svelte';
import type { Event } from './events';
import { fold } from './fold';
import { act, ballNow, end } from './moves';
import { Script, vocabulary as v } from './sample';
import { now } from './stamp';

// chartOne charts a chance as a page would whose pad is named.
function chartOne(s: Script, pad: string, n: { n: number }, clock: Clock, defender: string): void {
  const put = (drafts: ReturnType<typeof end>) => {
    for (const d of drafts) s.add(d.type, d.body as never, { pad, n: ++n.n, ...(d.id ? { id: d.id } : {}), ...(d.when ? { when: d.when } : {}), ...(d.after ? { after: d.after } : {}) } as Partial<Event>);
  };
  const chart = () => fold(v, s.all);
  const ball = () => ballNow(chart(), clock.period, 'm', '');
  put(act(ball(), { kind: 'drive', outcome: 'stopped', defender }, now(chart(), pad, clock, null)).drafts);
  put(end(ball(), { end: 'made-2' }, undefined, now(chart(), pad, clock, null)));
}

describe('order without a running clock', () => {
  it.each([['a later page sorts before', ['p9', 'p1', 'p5']], ['and behind', ['p1', 'p9', 'p0']]])('%s', (_, pads) => {
    const s = new Script('p9').open();
    const want: string[] = [];
    for (const [i, pad] of pads.entries()) {
      const clock = new Clock(() => 600);
      const n = { n: 100 * (i + 1) };
      for (let k = 0; k < 3; k++) {
        const who = `${k % 2 === i % 2 ? 'h' : 'm'}-${i + 1}${k}`;
        want.push(who);
        chartOne(s, pad, n, clock, who);
      }
    }
    expect(fold(v, s.all).chances.map((c) => c.actions[0]?.defender)).toEqual(want);
  });

  it('and with a clock that was set back up', () => {
    const s = new Script('p9').open();
    const clock = new Clock(() => 600);
    const n = { n: 100 };
    for (const [who, left] of [['h-1', 500], ['m-1', 480], ['h-2', 495], ['m-2', 490]] as const) {
      clock.set(left);
      chartOne(s, 'p9', n, clock, who);
    }
    expect(fold(v, s.all).chances.map((c) => c.actions[0]?.defender)).toEqual(['h-1', 'm-1', 'h-2', 'm-2']);
  });
});
