// Every page as people use it: axe finds nothing in light and dark, targets are
// large enough for a finger, and it works at 200 % zoom.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { after, before, test } from 'node:test';
import { browser, openGame, Server, settled, shots, type, use } from './stage.js';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
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

async function sound(page, what) {
  await page.evaluate(axe);
  const found = await page.evaluate(async () => {
    const { violations } = await window.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] });
    return violations.map((v) => `${v.id}: ${v.nodes.slice(0, 3).map((n) => `${n.target} ${n.failureSummary}`).join(' | ')}`);
  });
  assert.deepEqual(found, [], what);
}

// small lists the targets that a finger would miss.
const small = (page) => page.evaluate(() => [...document.querySelectorAll('button, a, input, select, textarea')]
  .filter((e) => e.offsetParent !== null && !e.closest('p'))
  .map((e) => [e, e.getBoundingClientRect()])
  .filter(([, r]) => r.width > 0 && (r.width < 43.5 || r.height < 43.5))
  .map(([e, r]) => `${e.tagName} ${e.textContent.trim().slice(0, 20)} ${r.width.toFixed(0)}×${r.height.toFixed(0)}`));

for (const [name, viewport, colorScheme] of [['desktop-light', { width: 1280, height: 800 }, 'light'], ['tablet-dark', { width: 1024, height: 768 }, 'dark']]) {
  test(`axe finds nothing: ${name}`, { timeout: 240_000 }, async () => {
    const page = await use(chromium, viewport, { colorScheme, reducedMotion: 'reduce' });
    const shot = (n) => page.screenshot({ path: `${shots}${name}-${n}.png` });
    await page.goto(server.url);
    await page.getByTestId('open-game').click();
    await sound(page, 'opening a game');
    await openGame(page, server.url, { date: name === 'tablet-dark' ? '2031-02-01' : '2031-02-02' });
    await sound(page, 'an empty pad');
    await type(page, 'Digit1', 'KeyF', 'KeyJ', 'Digit4', 'KeyX', 'KeyL', 'KeyD');
    await sound(page, 'an entry');
    await page.getByTestId('court').click({ position: { x: 60, y: 90 } });
    await type(page, 'KeyK', 'Semicolon');
    await page.getByTestId('row').waitFor();
    await sound(page, 'details');
    await shot('details');
    await type(page, 'Escape', 'Enter');
    await sound(page, 'an end');
    await type(page, 'Period');
    await page.getByTestId('shot-made').waitFor();
    await sound(page, 'free throws');
    await type(page, 'BracketRight', 'BracketLeft');
    for (let i = 0; i < 8; i++) await type(page, 'Digit1', 'Digit6', 'KeyS', 'KeyJ', 'KeyD', 'KeyL', 'Enter', 'KeyJ');
    await settled(page);
    await page.getByTestId('chance').nth(2).click();
    await page.getByTestId('trail').click();
    await sound(page, 'putting right');
    await shot('put-right');
    for (const p of ['wrong no.', 'set up', 'more']) {
      await page.getByRole('button', { name: p, exact: true }).click();
      await sound(page, p);
      assert.deepEqual(await small(page), [], `${p}: targets`);
    }
    await shot('pad');
    await page.locator('.safety button').click();
    await sound(page, 'what is safe');
    const fits = await page.evaluate(() => document.documentElement.scrollHeight <= innerHeight + 1 && document.documentElement.scrollWidth <= innerWidth + 1);
    assert.ok(fits, 'the pad needs scrolling');
    for (const path of ['/board', '/keys', '/']) {
      await page.goto(server.url + path);
      await page.getByRole('heading', { level: 1 }).waitFor();
      await page.waitForTimeout(300);
      await sound(page, path);
      assert.deepEqual(await small(page), [], `${path}: targets`);
    }
    await page.context().close();
  });
}

test('at 200 % zoom everything is there and nothing runs off sideways', async () => {
  const page = await use(chromium, { width: 640, height: 400 }, { deviceScaleFactor: 2 });
  await openGame(page, server.url, { date: '2031-02-03' });
  await type(page, 'Digit1', 'KeyF');
  await page.getByTestId('outcome-held-1').click();
  await page.getByTestId('end').click();
  await page.getByTestId('end-cell:broken:1').click();
  await settled(page);
  assert.equal(await page.getByTestId('score').textContent(), '0 – 2');
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth + 1));
  await page.context().close();
});

test('a tablet charts by touch alone', async () => {
  const page = await use(chromium, { width: 1024, height: 768 }, { hasTouch: true });
  const game = await openGame(page, server.url, { date: '2031-02-04' });
  const tap = (id) => page.getByTestId(id).tap();
  await tap('run');
  for (const id of ['slot-3', 'kind-drive', 'outcome-broken-1', 'slot-8', 'kind-contest', 'outcome-held-2']) await tap(id);
  await page.getByTestId('court').tap({ position: { x: 150, y: 60 } });
  for (const id of ['end', 'end-cell:held:1']) await tap(id);
  await tap('slot-7');
  for (const id of ['kind-post', 'bare-even', 'end', 'end-cell:broken:3', 'shot-made', 'shot-made']) await tap(id);
  // A substitution in two taps: who comes in, whose place he takes.
  await page.getByRole('button', { name: 'number 9 comes in' }).tap();
  await tap('slot-1');
  await page.getByRole('group', { name: 'Harbour, bench' }).getByRole('button', { name: 'number 3 comes in' }).waitFor();
  await settled(page);
  const chart = (await server.json(`/api/games/${game}`)).charts[0];
  assert.deepEqual([chart.chances, chart.actions, chart.score], [2, 3, { harbour: 2, millstone: 0 }]);
  const { events } = await server.json(`/api/games/${game}/charts/main/events`);
  const bodies = events.map((e) => e.event).filter((e) => e.type === 'action').map((e) => [e.body.defender, e.body.outcome, e.body.opponent]);
  assert.deepEqual(bodies[0], ['harbour-12', 'beaten', undefined]);
  assert.deepEqual(events.find((e) => e.event.type === 'substituted').event.body, { team: 'harbour', in: 'harbour-9', out: 'harbour-3' });
  assert.deepEqual(events.find((e) => e.event.type === 'amended').event.body.body.opponent, 'millstone-11');
  assert.ok(events.find((e) => e.event.type === 'chance-ended').event.body.spot, 'the shot has the spot that was tapped');
  await page.context().close();
});
