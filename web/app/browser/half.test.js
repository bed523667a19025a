// A scripted half of 70 chances, charted by keys alone; how many keys that takes,
// and what the keystroke-level model makes of it (Card, Moran & Newell 1980,
// Communications of the ACM 23:396-410: K 0.28 s for an average typist, M 1.35 s).
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { browser, openGame, Server, settled, use } from './stage.js';

const server = new Server();
let chromium;
before(async () => {
  await server.start();
  chromium = await browser();
});
after(async () => {
  await chromium?.close();
  await server.stop();
});

// dice is a small generator with a seed (Park & Miller 1988), so that the half is
// the same every time.
function dice(seed) {
  let s = seed;
  return (n) => (s = (s * 48271) % 2147483647) % n;
}

const kinds = { drive: 'KeyF', contest: 'KeyD', closeout: 'KeyS', 'box-out': 'KeyA', 'ball-screen': 'KeyE', coverage: 'KeyW', chase: 'KeyQ', 'gap-help': 'KeyC', rotation: 'KeyX', post: 'KeyV', transition: 'KeyZ', deny: 'KeyR' };
const cells = ['KeyJ', 'KeyJ', 'KeyJ', 'KeyK', 'KeyL', 'KeyU', 'KeyO'];
const plays = [['drive', 'contest'], ['ball-screen', 'coverage', 'contest'], ['chase', 'closeout', 'contest'], ['drive', 'gap-help', 'closeout'], ['transition'], ['post', 'contest', 'box-out'], ['deny', 'drive', 'rotation', 'contest', 'box-out'], ['closeout']];
// ends: the key, what it scores, and whether the offence keeps the ball.
const ends = [['KeyJ', 0, false], ['KeyL', 2, false], ['KeyU', 0, false], ['KeyF', 0, false], ['KeyK', 0, true], ['KeyO', 3, false], ['KeyD', 0, false], ['KeyJ', 0, false]];

const middle = (list) => list.toSorted((a, b) => a - b)[Math.floor(list.length / 2)];
const mean = (list) => list.reduce((a, b) => a + b, 0) / list.length;

test('a half of 70 chances by keys', { timeout: 240_000 }, async (t) => {
  const page = await use(chromium, { width: 1280, height: 800 });
  const game = await openGame(page, server.url);
  const throwDice = dice(20310114);
  const perAction = [];
  const perEnd = [];
  const slow = [];
  const score = [0, 0]; // home, away
  let total = 0;
  let offence = 1; // the away team has the ball first
  const matchups = {};
  const last = {}; // the last defender charted, by defending team
  const press = async (code) => page.keyboard.press(code);
  await press('Space');
  for (let c = 0; c < 70; c++) {
    const defence = 1 - offence;
    const digit = (team, i) => `Digit${(team * 5 + i + 1) % 10}`;
    let before = last[defence];
    for (const kind of plays[throwDice(plays.length)]) {
      const who = throwDice(5);
      const whom = throwDice(100) < 85 ? who : throwDice(5);
      let keys = 2;
      if (before !== who) {
        await press(digit(defence, who));
        keys++;
      }
      await press(kinds[kind]);
      let cell = cells[throwDice(cells.length)];
      if (['drive', 'contest'].includes(kind) && cell === 'KeyO') cell = 'KeyL'; // these have one or two
      await press(cell);
      if (matchups[`${defence}${who}`] !== whom) {
        await press(digit(offence, whom));
        matchups[`${defence}${who}`] = whom;
        keys++;
      }
      before = last[defence] = who;
      perAction.push(keys);
      total++;
    }
    const [key, points, kept] = ends[throwDice(ends.length)];
    await press('Enter');
    const start = performance.now();
    await press(key);
    await page.waitForFunction((n) => document.querySelectorAll('[data-test=chance]').length >= n && document.querySelector('[data-test=entry]')?.textContent?.includes('who, what'), c + 1);
    slow.push(performance.now() - start);
    perEnd.push(2);
    score[offence] += points;
    if (!kept) offence = defence;
  }
  await settled(page);
  const told = await server.json(`/api/games/${game}`);
  const chart = told.charts[0];
  assert.equal(chart.chances, 70);
  assert.equal(chart.actions, total);
  assert.deepEqual(chart.score, { harbour: score[0], millstone: score[1] });
  assert.equal(await page.getByTestId('score').textContent(), `${score[0]} – ${score[1]}`);
  assert.deepEqual(chart.findings ?? [], []);

  const keysPerAction = mean(perAction);
  const perChance = total / 70;
  const seconds = perChance * (1.35 + 0.28 * keysPerAction) + 1.35 + 0.28 * 2;
  t.diagnostic(`keys an action: median ${middle(perAction)}, mean ${keysPerAction.toFixed(2)}, most ${Math.max(...perAction)}; an end: ${Math.max(...perEnd)}`);
  t.diagnostic(`${total} actions in 70 chances; keystroke-level estimate ${(1.35 + 0.28 * keysPerAction).toFixed(2)} s an action, ${seconds.toFixed(1)} s a chance of ${perChance.toFixed(1)} actions`);
  t.diagnostic(`end key to the next chance on screen, through the test's own wire: median ${middle(slow).toFixed(0)} ms`);
  assert.ok(Math.max(...perAction) <= 4, 'an action takes more than 4 keys');
  assert.ok(Math.max(...perEnd) <= 2, 'an end takes more than 2 keys');
});

test('key to screen: the entry shows within a frame or two', async (t) => {
  const page = await use(chromium, { width: 1280, height: 800 });
  await openGame(page, server.url, { date: '2031-01-15' });
  const times = await page.evaluate(async () => {
    const out = [];
    const entry = document.querySelector('[data-test=entry]');
    const next = () => new Promise((r) => requestAnimationFrame(() => setTimeout(r)));
    for (let i = 0; i < 60; i++) {
      const code = ['KeyF', 'KeyD', 'KeyS'][i % 3];
      const want = ['drive', 'contest', 'closeout'][i % 3];
      const start = performance.now();
      document.body.dispatchEvent(new KeyboardEvent('keydown', { code, bubbles: true, cancelable: true }));
      while (!entry.textContent.includes(want)) await Promise.resolve();
      await next(); // painted
      out.push(performance.now() - start);
    }
    return out;
  });
  const sorted = times.toSorted((a, b) => a - b);
  t.diagnostic(`key to painted: median ${sorted[30].toFixed(1)} ms, slowest ${sorted[59].toFixed(1)} ms`);
});
