// The Bench in a browser: mistakes at their places while typing, old against new
// at once, versions, the one in force, and tables to take along.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { browser, Server, shots, use } from './stage.js';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const server = new Server({ games: 6 });
const wide = { width: 1280, height: 800 };
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
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${what} is wider than the screen`);
}

async function bench(page, path = '/bench') {
  const refused = [];
  page.on('console', (m) => m.type() === 'error' && refused.push(m.text()));
  await page.goto(server.url + path);
  await page.getByTestId('ran').waitFor();
  return refused;
}

// write puts a text into the editor as a person who pastes it.
async function write(page, text) {
  await page.locator('.cm-content').click();
  await page.keyboard.press('ControlOrMeta+a');
  await page.keyboard.insertText(text);
}

const mine = (rule, name = 'my-stops') => `name: ${name}
about: Ours.
stop:
  default: '${rule}'
examples:
  - name: a miss
    chance: {end: missed-2, rebound: defence}
    action: {kind: drive, outcome: stopped}
    expect: {stop: true}
`;

for (const [name, viewport, colorScheme] of [['wide-light', wide, 'light'], ['middle-dark', { width: 1024, height: 768 }, 'dark'], ['small-dark', { width: 390, height: 844 }, 'dark']]) {
  test(`axe finds nothing on the Bench: ${name}`, { timeout: 120_000 }, async () => {
    const page = await use(chromium, viewport, { colorScheme });
    const refused = await bench(page);
    await page.getByTestId('against').selectOption({ label: 'no-points' });
    await page.getByTestId('flips').waitFor();
    await page.screenshot({ path: join(shots, `bench-${name}.png`), fullPage: true });
    await sound(page, 'old against new');
    for (const tab of ['table', 'versions', 'fields']) {
      await page.getByTestId(`tab-${tab}`).click();
      if (tab === 'table') await page.getByTestId('rates').waitFor();
      await page.screenshot({ path: join(shots, `bench-${tab}-${name}.png`) });
      await sound(page, tab);
    }
    assert.deepEqual(refused.filter((t) => /Content Security|refused/i.test(t)), [], 'the page does what its own policy forbids');
    await page.context().close();
  });
}

test('a mistake shows at its place, and the last good numbers stay', { timeout: 60_000 }, async () => {
  const page = await use(chromium, wide);
  await bench(page);
  const ran = await page.getByTestId('ran').textContent();
  await write(page, mine('chance.ponts == 0'));
  await page.getByTestId('verdict').filter({ hasText: 'line 4, column' }).waitFor();
  assert.match(await page.getByTestId('verdict').textContent(), /did you mean "points"/);
  await page.locator('.cm-lintRange-error').waitFor();
  assert.equal(await page.locator('.cm-lintRange-error').textContent(), 'ponts');
  assert.equal(await page.getByTestId('ran').textContent(), ran);
  assert.ok(await page.getByTestId('save').isDisabled());
  await write(page, mine('chance.points == 2'));
  await page.getByTestId('verdict').filter({ hasText: 'contradict' }).waitFor();
  assert.match(await page.getByRole('list', { name: 'worked examples' }).textContent(), /expected true, got false/);
  assert.ok(await page.getByTestId('save').isDisabled(), 'what contradicts itself can be saved');
  await write(page, mine('chance.points == 0'));
  await page.getByTestId('verdict').filter({ hasText: 'reads well' }).waitFor();
  await page.getByTestId('save').isEnabled();
  await page.context().close();
});

test('a run shows what the server computes, and a flip opens its chance', { timeout: 60_000 }, async () => {
  const page = await use(chromium, wide);
  await bench(page);
  const text = mine('chance.points == 0 && action.reading != "broken"');
  await write(page, text);
  await page.getByTestId('verdict').filter({ hasText: 'reads well' }).waitFor();
  const against = await page.getByTestId('against').inputValue();
  const answer = await fetch(`${server.url}/api/definitions/run`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ text, against, by: ['defender', 'kind'], as_of: '' }) });
  const run = await answer.json();
  assert.ok(run.flipped > 0);
  await page.getByTestId('ran').filter({ hasText: `${run.flipped} trials flipped` }).waitFor();
  const first = page.getByTestId('moved').locator('tbody tr').first();
  assert.match((await first.textContent()).replace(/\s+/g, ' '), new RegExp(`^ ?${run.groups[0].key[0]} ?${run.groups[0].key[1]}`));
  const flip = page.getByTestId('flips').locator('tbody tr').first();
  assert.match(await flip.textContent(), new RegExp(run.flips[0].rule.replace('.', '\\.')));
  await flip.getByRole('button').click();
  await page.getByTestId('evidence-row').waitFor();
  await page.context().close();
});

test('a version is saved, compared, put in force, and the Board names it', { timeout: 90_000 }, async () => {
  const page = await use(chromium, wide);
  await bench(page, '/bench');
  await write(page, mine('chance.points == 0'));
  await page.getByTestId('verdict').filter({ hasText: 'reads well' }).waitFor();
  await page.getByTestId('note').fill('a start');
  await page.getByTestId('save').click();
  await page.getByText('Saved as the newest version of my-stops').waitFor();
  await write(page, mine('chance.points < 2'));
  await page.getByTestId('verdict').filter({ hasText: 'reads well' }).waitFor();
  await page.getByTestId('note').fill('one point is a stop, too');
  await page.getByTestId('save').click();
  await page.getByTestId('tab-versions').click();
  const second = page.getByTestId('version-my-stops-2');
  await second.waitFor();
  assert.match(await second.textContent(), /one point is a stop, too/);
  await second.getByRole('button', { name: 'What changed' }).click();
  const changed = await page.getByTestId('difference').textContent();
  assert.match(changed, /- {3}default: 'chance.points == 0'/);
  assert.match(changed, /\+ {3}default: 'chance.points < 2'/);

  const board = await use(chromium, wide);
  const { players } = await server.json('/api/board');
  await board.goto(`${server.url}/board/${players[0].id}`);
  await board.getByText('definition ball-won').first().waitFor();
  await page.getByTestId('note').fill('agreed on Monday');
  await page.getByTestId('force').click();
  await page.getByText('my-stops is in force from now on').waitFor();
  await board.getByText('definition my-stops').first().waitFor(); // without asking
  assert.match(await page.locator('.trail').textContent(), /my-stops.*agreed on Monday/s);
  const book = await server.json('/api/definitions');
  assert.equal(book.in_force.name, 'my-stops');
  assert.equal(book.trail.length, 1);
  // A bad one is refused whoever sends it, and the good one stays.
  const bad = await fetch(`${server.url}/api/definitions/save`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ text: mine('chance.ponts == 0'), note: '' }) });
  assert.equal(bad.status, 400);
  assert.equal((await server.json('/api/definitions')).in_force.hash, book.in_force.hash);
  for (const p of [page, board]) await p.context().close();
});

test('a table sorts, goes back in time, and can be taken along', { timeout: 60_000 }, async () => {
  const page = await use(chromium, wide, { acceptDownloads: true });
  await bench(page, '/bench');
  await page.getByTestId('tab-table').click();
  await page.getByTestId('by-0').selectOption('kind');
  await page.getByTestId('by-1').selectOption('');
  const rows = page.getByTestId('rates').locator('tbody tr');
  await page.waitForFunction(() => document.querySelectorAll('[data-test=rates] tbody tr').length <= 12);
  await page.getByRole('button', { name: 'broken', exact: false }).click();
  const broken = await rows.evaluateAll((list) => list.map((r) => Number(r.cells[r.cells.length - 3].textContent)));
  assert.deepEqual(broken, [...broken].sort((a, b) => b - a));
  const csv = page.waitForEvent('download');
  await page.getByTestId('csv').click();
  const text = readFileSync(await (await csv).path(), 'utf8').trim().split(/\r?\n/);
  const rates = await server.json(`/api/rates?by=kind&definition=${(await server.json('/api/definitions')).in_force.hash}`);
  assert.equal(text.length, 1 + rates.groups.length);
  const at = text[0].split(',').indexOf('stop_rate');
  assert.deepEqual(text.slice(1).map((l) => Number(l.split(',')[at])), rates.groups.map((g) => g.stop_rate));
  assert.match(text[1], /INVENTED/);
  const parquet = page.waitForEvent('download');
  await page.getByTestId('parquet').click();
  assert.equal(readFileSync(await (await parquet).path()).subarray(0, 4).toString(), 'PAR1');
  const all = rates.total.actions;
  await page.getByTestId('as-of').fill('1000');
  await page.getByTestId('as-of').press('Enter');
  await page.waitForFunction((n) => !document.querySelector('[data-test=rates]')?.closest('section').textContent.includes(`${n} actions`), all);
  const then = (await server.json('/api/rates?by=kind&as_of=1000')).total.actions;
  assert.ok(then > 0 && then < all);
  await page.getByText(`${then} actions`).waitFor();
  await page.context().close();
});
