// Charting from film, with a film made for the test: known again by its
// fingerprint, every event with its film time, the clock tied to it by anchors,
// and readings taken before the result is seen.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { copyFileSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { browser, openGame, Server, settled, shots, type, use } from './stage.js';

const server = new Server();
const dir = mkdtempSync(join(tmpdir(), 'stopledger-film-'));
const film = join(dir, 'invented.webm');
let chromium;
before(async () => {
  const made = spawnSync('ffmpeg', ['-loglevel', 'error', '-f', 'lavfi', '-i', 'testsrc=size=320x180:rate=25:duration=30', '-c:v', 'libvpx', '-b:v', '200k', '-g', '25', film]);
  assert.equal(made.status, 0, `ffmpeg is needed to make a film: ${made.stderr}`);
  copyFileSync(film, join(dir, 'renamed.webm'));
  await server.start();
  chromium = await browser();
});
after(async () => {
  await chromium?.close();
  await server.stop();
  rmSync(dir, { recursive: true, force: true });
});

const time = (page) => page.evaluate(() => document.querySelector('video').currentTime);
const seek = (page, to) => page.evaluate((to) => new Promise((r) => {
  const v = document.querySelector('video');
  v.onseeked = () => r();
  v.currentTime = to;
}), to);

async function load(page, name) {
  await page.getByTestId('film-file').setInputFiles(join(dir, name));
  await page.getByTestId('film').waitFor();
  await page.waitForFunction(() => document.querySelector('video').readyState >= 2);
}

test('a film ties to the clock, and every event to the film', { timeout: 120_000 }, async () => {
  const page = await use(chromium, { width: 1280, height: 800 });
  const sent = [];
  page.on('request', (r) => r.method() !== 'GET' && sent.push(r.url()));
  const game = await openGame(page, server.url);
  await load(page, 'invented.webm');

  await seek(page, 2);
  await page.getByTestId('clock').click();
  await page.locator('#clock-field').fill('9:40');
  await page.keyboard.press('Enter');
  await type(page, 'Shift+Enter'); // the game clock runs from here: an anchor
  await seek(page, 7);
  await page.waitForFunction(() => document.querySelector('[data-test=clock]').textContent === '9:35');
  await type(page, 'Digit1', 'KeyF', 'KeyJ', 'Enter', 'KeyJ');
  await seek(page, 4); // going back takes the game clock back
  await page.waitForFunction(() => document.querySelector('[data-test=clock]').textContent === '9:38');

  const before = await time(page);
  await type(page, 'ArrowRight');
  await page.waitForFunction((t) => document.querySelector('video').currentTime > t, before);
  const step = (await time(page)) - before;
  assert.ok(step > 0.01 && step < 0.07, `a frame is ${step} s`);
  await seek(page, 12);
  await type(page, 'ArrowDown');
  await page.waitForFunction(() => Math.abs(document.querySelector('video').currentTime - 7) < 0.1);

  await type(page, 'Quote'); // blind
  await type(page, 'Digit6', 'KeyD', 'KeyL');
  await page.waitForFunction(() => !document.querySelector('video').paused); // it plays on after the reading
  await type(page, 'Space', 'Quote');
  await page.screenshot({ path: `${shots}film.png` });
  await settled(page);

  const events = (await server.json(`/api/games/${game}/charts/main/events`)).events.map((e) => e.event);
  const linked = events.filter((e) => e.type === 'film-linked');
  assert.equal(linked.length, 1);
  assert.match(linked[0].body.fingerprint, /^[0-9a-f]{64}$/);
  const anchor = events.find((e) => e.type === 'film-anchored').body;
  assert.ok(Math.abs(anchor.at - 2) < 0.1 && anchor.clock === 580 && anchor.period === 1, JSON.stringify(anchor));
  const [first, second] = events.filter((e) => e.type === 'action');
  assert.equal(first.when.film.id, linked[0].body.id);
  assert.ok(Math.abs(first.when.film.at - 7) < 0.1 && Math.abs(first.when.clock - 575) < 0.2 && first.when.from === 'film', JSON.stringify(first.when));
  assert.deepEqual([first.body.details, second.body.details], [undefined, { saw_end: ['no'] }]);
  assert.deepEqual(sent, [], 'something was uploaded');

  await page.reload();
  await page.getByTestId('entry').waitFor();
  await load(page, 'renamed.webm');
  await page.getByText('known here as invented.webm').waitFor();
  await seek(page, 6);
  await page.waitForFunction(() => document.querySelector('[data-test=clock]').textContent === '9:36'); // from the anchors
  await settled(page);
  const again = (await server.json(`/api/games/${game}/charts/main/events`)).events.filter((e) => e.event.type === 'film-linked');
  assert.equal(again.length, 1);
  await page.context().close();
});
