// Nothing is lost and nothing doubled: the line is cut, the page reloaded, a
// second tab opened, the server killed in the middle of charting; then what this
// machine charted is compared with what the ledger holds.
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

// kept reads what the browser keeps of a chart, straight from its database.
const kept = (page, chart) => page.evaluate((chart) => new Promise((resolve, reject) => {
  const open = indexedDB.open('stopledger');
  open.onerror = () => reject(open.error);
  open.onsuccess = () => {
    const all = open.result.transaction('events').objectStore('events').index('chart').getAll(chart);
    all.onsuccess = () => resolve(all.result);
  };
}), chart);

// same demands that the ledger holds exactly what was charted: every event once,
// byte for byte, its numbers without a gap.
async function same(page, game) {
  const mine = await kept(page, `${game}/main`);
  const { events } = await server.json(`/api/games/${game}/charts/main/events`);
  const ids = events.map((e) => e.event.id);
  assert.equal(new Set(ids).size, ids.length, 'an event stands twice in the ledger');
  assert.deepEqual(ids.toSorted(), mine.map((k) => k.id).toSorted(), 'ledger and machine hold different events');
  const bytes = new Map(mine.map((k) => [k.id, k.raw]));
  for (const e of events) assert.equal(JSON.stringify(e.event), bytes.get(e.event.id));
  const pads = Map.groupBy ? Map.groupBy(events, (e) => e.event.pad) : events.reduce((m, e) => m.set(e.event.pad, [...(m.get(e.event.pad) ?? []), e]), new Map());
  for (const [pad, list] of pads) assert.deepEqual(list.map((e) => e.event.n).toSorted((a, b) => a - b), list.map((_, i) => i + 1), `numbers of pad ${pad}`);
  const told = await server.json(`/api/games/${game}`);
  const serious = [...(told.findings ?? []), ...(told.charts[0].findings ?? [])].filter((f) => /^(gap-in-n|n-used-twice|same-id-other-bytes|same-offence-twice|chances-overlap)$/.test(f.what));
  assert.deepEqual(serious, []);
  return { events: ids.length, pads: pads.size };
}

const chance = (page, end = 'KeyJ') => type(page, 'Digit1', 'Digit6', 'KeyF', 'KeyJ', 'KeyD', 'KeyL', 'Enter', end);
const count = async (page, id) => Number(await page.getByTestId(id).textContent());

test('without a line: chart, reload, a second tab, and out in order', { timeout: 120_000 }, async (t) => {
  const page = await use(chromium, { width: 1280, height: 800 });
  const game = await openGame(page, server.url);
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await page.reload();
  await page.getByTestId('entry').waitFor();
  await type(page, 'Digit1');
  await chance(page);
  await settled(page);

  await server.kill();
  for (let i = 0; i < 5; i++) await chance(page, ['KeyL', 'KeyJ', 'KeyK', 'KeyU', 'KeyF'][i]);
  await page.waitForFunction(() => document.querySelectorAll('[data-test=chance]').length === 6 && document.querySelector('[data-busy="0"]'));
  const before = await count(page, 'waiting');
  assert.ok(before >= 15, `${before} waiting; want the events of five chances`);
  const score = await page.getByTestId('score').textContent();

  await page.reload(); // with nobody there to serve the page
  await page.getByTestId('entry').waitFor();
  assert.equal(await page.getByTestId('chance').count(), 6);
  assert.equal(await page.getByTestId('score').textContent(), score);
  assert.equal(await count(page, 'waiting'), before);

  const second = await page.context().newPage();
  await second.goto(page.url());
  await second.getByTestId('entry').waitFor();
  await second.bringToFront();
  await chance(second);
  await page.bringToFront();
  await page.waitForFunction(() => document.querySelectorAll('[data-test=chance]').length === 7); // the other tab's chance
  await chance(page, 'KeyO');

  await server.start();
  await settled(page);
  await settled(second);
  const { events, pads } = await same(page, game);
  t.diagnostic(`${events} events by ${pads} pads: lost 0, doubled 0`);
  await second.close();
  await page.context().close();
});

test('the server is killed again and again while somebody charts', { timeout: 240_000 }, async (t) => {
  const page = await use(chromium, { width: 1280, height: 800 });
  const game = await openGame(page, server.url, { date: '2031-01-15' });
  await type(page, 'Digit1');
  let going = true;
  let kills = 0;
  const trouble = (async () => {
    while (going) {
      await new Promise((r) => setTimeout(r, 150 + 97 * (kills % 5)));
      await server.kill();
      kills++;
      await new Promise((r) => setTimeout(r, 200));
      await server.start();
    }
  })();
  for (let i = 0; i < 60 || kills < 8; i++) await chance(page, ['KeyJ', 'KeyL', 'KeyU', 'KeyK'][i % 4]);
  going = false;
  await trouble;
  await settled(page);
  const { events } = await same(page, game);
  t.diagnostic(`${kills} kills, ${events} events: lost 0, doubled 0`);
  assert.equal(await page.getByTestId('chance').count(), (await server.json(`/api/games/${game}`)).charts[0].chances);
  await page.context().close();
});

test('what the server refuses is said, with the reason, and stays here', async () => {
  const page = await use(chromium, { width: 1280, height: 800 });
  const game = await openGame(page, server.url, { date: '2031-01-16' });
  await settled(page);
  // An event that an older page might hold: a word that is in no vocabulary.
  await page.evaluate((game) => new Promise((resolve) => {
    const open = indexedDB.open('stopledger');
    open.onsuccess = () => {
      const id = '0198f0c2-7c1e-7b1a-9a55-3f2a9d1c0e77';
      const e = { v: 1, id, game, chart: 'main', charter: 'c', pad: 'old', n: 1, type: 'action', body: { chance: id, kind: 'drive', outcome: 'wandered' } };
      const tx = open.result.transaction('events', 'readwrite');
      tx.objectStore('events').put({ id, chart: `${game}/main`, pad: 'old', n: 1, raw: JSON.stringify(e), state: 'waiting', own: true });
      tx.oncomplete = resolve;
    };
  }), game);
  await page.reload();
  await page.getByTestId('refused').waitFor();
  await page.getByTestId('refused').click();
  await page.getByText('body.outcome').waitFor();
  assert.match(await page.locator('.safety .more').textContent(), /wandered/);
  await page.context().close();
});
