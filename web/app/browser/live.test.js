// A live game as it comes: numbers as they are seen, two charters on one chart,
// chances passed unseen and ended late, one prospect, and a game whose chances
// are already there.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { browser, openGame, Server, settled, type, use } from './stage.js';

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

const events = async (game, chart = 'main') => (await server.json(`/api/games/${game}/charts/${chart}/events`)).events.map((e) => e.event);
const chartOf = async (game) => (await server.json(`/api/games/${game}`)).charts[0];

test('numbers are added as they are seen, and a chance may be ended late', async () => {
  const page = await use(chromium, { width: 1280, height: 800 });
  const game = await openGame(page, server.url, { fives: false, date: '2031-03-02' });
  await page.getByTestId('slot-1').click();
  for (const n of ['12', '0']) {
    await page.getByLabel('Number', { exact: true }).fill(n);
    await page.keyboard.press('Enter');
    await page.getByTestId(n === '12' ? 'slot-1' : 'slot-2').getByText(/^number (12|0)/).waitFor();
  }
  await page.keyboard.press('Escape');
  await type(page, 'Space', 'Digit1', 'KeyF', 'KeyJ'); // number 0 is the lower
  await type(page, 'KeyG', 'KeyG', 'Enter', 'KeyO'); // not seen, not seen, a three
  await page.waitForFunction(() => document.querySelectorAll('[data-test=chance]').length === 3);
  await page.getByTestId('chance').nth(0).click();
  await type(page, 'Enter', 'KeyL');
  await settled(page);
  const chart = await chartOf(game);
  assert.deepEqual([chart.chances, chart.score], [3, { harbour: 0, millstone: 5 }]);
  assert.equal((await events(game)).find((e) => e.type === 'action').body.defender, 'harbour-0');
  await page.context().close();
});

test('two charters on one chart see each other’s chances', async () => {
  const a = await use(chromium, { width: 1280, height: 800 });
  const game = await openGame(a, server.url, { date: '2031-03-03' });
  await settled(a);
  const b = await use(chromium, { width: 1024, height: 768 });
  await b.goto(`${server.url}/pad/${game}/main`);
  await b.getByTestId('entry').waitFor();
  await type(a, 'Digit2', 'KeyF', 'KeyJ');
  await b.getByTestId('action').getByText('drive').waitFor();
  await type(b, 'Digit5', 'KeyA', 'KeyL'); // the other's chance takes it
  await a.getByTestId('action').getByText('box out').waitFor();
  await type(a, 'Enter', 'KeyK');
  await b.waitForFunction(() => document.querySelector('[data-test=entry]').textContent.includes('who, what'));
  await settled(a);
  await settled(b);
  const chart = await chartOf(game);
  assert.deepEqual([chart.chances, chart.actions, chart.findings ?? []], [1, 2, []]);
  await a.context().close();
  await b.context().close();
});

test('one prospect: ends ask only what is open', async () => {
  const page = await use(chromium, { width: 1280, height: 800 });
  const game = await openGame(page, server.url, { scope: 'focus', date: '2031-03-04' });
  await type(page, 'KeyF', 'KeyL', 'Enter', 'KeyL'); // he acted, without being named
  await type(page, 'Enter', 'KeyO'); // not tested
  await type(page, 'Enter', 'KeyL', 'KeyG'); // not seen
  await type(page, 'Enter', 'KeyJ'); // a miss with him on the floor
  await page.getByText('a miss: did he?').waitFor();
  await type(page, 'KeyJ');
  await type(page, 'Enter', 'KeyU', 'Enter', 'KeyL'); // a miss; any other key says no
  await settled(page);
  const all = await events(game);
  assert.deepEqual(all.filter((e) => e.type === 'action').map((e) => `${e.body.defender} ${e.body.kind} ${e.body.outcome}`), ['harbour-12 drive beaten', 'harbour-12 box-out body-then-ball']);
  const stands = new Map(all.filter((e) => e.type === 'chance-ended').map((e) => [e.id, e.body.focus]));
  for (const e of all.filter((x) => x.type === 'amended' && stands.has(x.body.target))) stands.set(e.body.target, e.body.body.focus);
  assert.deepEqual([...stands.values()], ['acted', 'not-tested', 'not-seen', 'acted', 'not-tested', 'not-tested']);
  await page.context().close();
});

test('mistakes: undo, change, wrong number, and the trail', async () => {
  const page = await use(chromium, { width: 1280, height: 800 });
  const game = await openGame(page, server.url, { date: '2031-03-05' });
  await type(page, 'Digit3', 'KeyF', 'KeyJ', 'Digit6', 'Backspace'); // the attacker is taken back
  await type(page, 'KeyB', 'KeyL', 'Enter'); // the last action was broken
  await type(page, 'KeyD', 'KeyL', 'Backspace'); // an action too many
  await type(page, 'Enter', 'KeyJ', 'Backspace', 'Enter', 'KeyK'); // an end put right
  await type(page, 'Digit3', 'KeyS', 'KeyJ', 'Enter', 'KeyL');
  await page.getByTestId('wrong').click();
  await page.getByTestId('wrong-from').selectOption('harbour-12');
  await page.getByTestId('wrong-to').selectOption('harbour-20');
  await page.getByTestId('wrong-do').click();
  await page.getByTestId('chance').nth(0).click();
  await page.getByTestId('trail').click();
  await page.getByTestId('trail-list').getByText('12 was 20').waitFor();
  await page.getByTestId('trail-list').getByText('outcome stopped → beaten').waitFor();
  await settled(page);
  const chart = await chartOf(game);
  assert.deepEqual([chart.chances, chart.actions, chart.score, chart.findings ?? []], [2, 2, { harbour: 0, millstone: 2 }, []]);
  await page.context().close();
});

test('a game whose chances are already there', async () => {
  const page = await use(chromium, { width: 1280, height: 800 });
  const game = await openGame(page, server.url, { date: '2031-03-06' });
  await settled(page);
  // What an outline brings, through the same gate.
  await page.evaluate(async (game) => {
    const ws = new WebSocket(`ws://${location.host}/ws/pad`);
    await new Promise((r) => (ws.onopen = r));
    ws.send(JSON.stringify({ op: 'hello', game, chart: 'main' }));
    let safe = 0;
    const done = new Promise((r) => (ws.onmessage = (m) => JSON.parse(m.data).op === 'safe' && ++safe === 6 && r()));
    for (let i = 0; i < 3; i++) {
      const id = (k) => `0198f0c2-7c1e-7b1a-9a55-0000000000${i}${k}`;
      const e = { v: 1, game, chart: 'main', charter: 'feed', pad: 'feed' };
      const when = (clock) => ({ period: 1, clock, from: 'outline' });
      ws.send(JSON.stringify({ op: 'append', event: { ...e, id: id(1), n: 2 * i + 1, when: when(590 - 20 * i), type: 'chance-began', body: { offence: i % 2 ? 'harbour' : 'millstone' } } }));
      ws.send(JSON.stringify({ op: 'append', event: { ...e, id: id(2), n: 2 * i + 2, when: when(580 - 20 * i), type: 'chance-ended', body: { chance: id(1), end: 'made-2' } } }));
    }
    await done;
    ws.close();
  }, game);
  await page.reload();
  await page.getByTestId('entry').waitFor();
  await page.getByText('Earlier chance').waitFor();
  await type(page, 'Digit2', 'KeyF', 'KeyL', 'Enter'); // one key goes to the next
  await type(page, 'Digit7', 'KeyD', 'KeyK', 'Enter', 'KeyG');
  await settled(page);
  const chart = await chartOf(game);
  assert.deepEqual([chart.chances, chart.actions, chart.score, chart.findings ?? []], [3, 2, { harbour: 2, millstone: 4 }, []]);
  await page.context().close();
});
