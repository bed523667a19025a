import 'fake-indexeddb/auto';
import { describe, expect, it } from 'vitest';
import { draft } from './events';
import { Store } from './store';

const by = { game: 'g', chart: 'main', charter: 'ana', pad: 'p1' };
let name = 0;
const open = () => Store.open(`test-${++name}`);
const note = (text: string) => draft('noted', { text });

describe('the store', () => {
  it('numbers events without a gap, also when two are charted at once', async () => {
    const s = await open();
    await Promise.all([s.mint(by, [note('a'), note('b')]), s.mint(by, [note('c')]), s.mint({ ...by, pad: 'p2' }, [note('d')])]);
    const all = await s.all(by);
    expect(all.filter((k) => k.pad === 'p1').map((k) => k.n).sort()).toEqual([1, 2, 3]);
    expect(all.filter((k) => k.pad === 'p2').map((k) => k.n)).toEqual([1]);
    for (const k of all) expect(JSON.parse(k.raw).n).toBe(k.n);
  });

  it('sends in the order of charting, and keeps the bytes it sent', async () => {
    const s = await open();
    const [a, b, c] = await s.mint(by, [note('a'), note('b'), note('c')]);
    await s.mark(b!.id, 'refused', 'because');
    expect((await s.waiting(by)).map((k) => k.id)).toEqual([a!.id, c!.id]);
    await s.take(by, [{ id: a!.id, pad: 'p1', n: 1, raw: '{"other":"spelling"}' }], 7);
    expect((await s.waiting(by)).map((k) => k.id)).toEqual([c!.id]);
    expect((await s.all(by)).find((k) => k.id === a!.id)!.raw).toBe(a!.raw);
    expect(await s.cursor(by)).toBe(7);
  });

  it('sends its own again when the server turns out to hold less', async () => {
    const s = await open();
    const [a] = await s.mint(by, [note('a')]);
    await s.mark(a!.id, 'safe');
    await s.take(by, [{ id: 'other', pad: 'p9', n: 1, raw: '{}' }], 3);
    await s.forgetPlace(by);
    expect((await s.waiting(by)).map((k) => k.id)).toEqual([a!.id]);
    expect(await s.cursor(by)).toBe(0);
  });
});
