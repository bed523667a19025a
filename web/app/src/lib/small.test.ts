import { describe, expect, it } from 'vitest';
import { filmTime, marksOf } from './anchors';
import type { CourtInfo } from './api';
import { Clock, face, readFace } from './clock.svelte';
import { worth } from './court';
import { token, uuid7 } from './events';
import { readRoster } from './roster';
import { readPrompts } from './settings';

describe('the clock', () => {
  it('runs, stops, and takes a film’s time back across a stop', () => {
    let film = 0;
    const c = new Clock(() => 600);
    c.follow(() => film);
    c.set(600);
    c.start();
    film = 10;
    expect(c.now()).toBe(590);
    c.stop();
    film = 40;
    expect(c.now()).toBe(590);
    c.start();
    film = 45;
    expect(c.now()).toBe(585);
    film = 20;
    expect(c.now()).toBe(590);
    film = 5;
    expect(c.now()).toBe(595);
  });

  it.each([['7:32', 452], ['732', 452], ['45', 45], ['12.3', 12.3], ['1:75', null], ['', null]])('reads %s', (text, want) => {
    expect(readFace(text)).toBe(want);
  });

  it.each([[600, '10:00'], [59.94, '59.9'], [452, '7:32'], [0, '0.0']])('shows %d as %s', (s, want) => {
    expect(face(s)).toBe(want);
  });
});

describe('anchors', () => {
  const a = [
    { film: 'f', at: 100, period: 1, clock: 600 },
    { film: 'f', at: 130, period: 1, clock: 570 }, // stops here
    { film: 'f', at: 160, period: 1, clock: 570 }, // goes on
    { film: 'f', at: 170, period: 1, clock: 500 } // the film was cut: 70 seconds in 10
  ];
  it('find a moment, and interpolate nothing across a cut', () => {
    expect(filmTime(a, 1, 590)).toBe(110);
    expect(filmTime(a, 1, 565)).toBe(165); // counted from the nearer side of the cut
    expect(filmTime(a, 1, 505)).toBe(165);
    expect(filmTime(a, 1, 490)).toBe(180);
    expect(filmTime(a, 2, 490)).toBeNull();
  });

  it('tell the clock where it ran and where it stood', () => {
    expect(marksOf(a).map((m) => m.running)).toEqual([true, false, true, true]);
  });
});

describe('the court', () => {
  // FIBA Official Basketball Rules 2024, article 2: arc 6.75 m, straight part
  // 0.90 m from the sideline of a 15 m court.
  const fiba = { three_arc: 6.75, three_corner: 6.6, bend: Math.sqrt(6.75 ** 2 - 6.6 ** 2), tolerance: 0.5 } as CourtInfo;
  it.each([
    ['under the basket', 0, 1, '2'], ['the corner', 7.2, 0, '3'], ['on the arc', 0, 6.75, '2 or 3'], ['a long two', 0, 5.8, '2'],
    ['from the top', 0, 8, '3'], ['a step inside the corner', 6, 0, '2']
  ])('%s', (_, x, y, want) => expect(worth(fiba, { x, y })).toBe(want));
});

describe('ids', () => {
  it('sort as they were minted, also within a millisecond, and are of version 7', () => {
    const list = Array.from({ length: 5000 }, () => uuid7(1_900_000_000_000));
    expect([...list].sort()).toEqual(list);
    expect(new Set(list).size).toBe(list.length);
    expect(list[0]).toMatch(/^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  });

  it.each([['Harbour City', 'harbour-city'], ['Ñandú  BC', 'nandu-bc'], ['--x--', 'x']])('%s', (name, want) => expect(token(name)).toBe(want));
});

describe('a roster', () => {
  const roles = ['guard', 'wing', 'big'];
  it('reads what a spreadsheet gives', () => {
    const r = readRoster('number;role\n"4";guard\n00;big\n12;C\n', 'harbour', roles);
    expect(r.troubles).toEqual([]);
    expect(r.players.map((p) => `${p.id} ${p.role}`)).toEqual(['harbour-4 guard', 'harbour-00 big', 'harbour-12 big']);
  });

  it('says which line is wrong and takes the others', () => {
    const r = readRoster('4, guard\nfour, guard\n4, big\n7, goalie', 'h', roles);
    expect(r.troubles).toHaveLength(3);
    expect(r.players.map((p) => p.number)).toEqual(['4', '7']);
  });
});

it('what to watch comes with the link', () => {
  expect(readPrompts('closeout:guard,chase')).toEqual([{ kind: 'closeout', role: 'guard' }, { kind: 'chase' }]);
});
