// The Audit in a browser, over an invented season: what stands out, a finding
// opened on the Pad, totals corrected by hand, charts laid beside each other,
// settled by keys alone, and adopted.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { browser, openGame, Server, settled, shots, type, use } from './stage.js';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const server = new Server({ games: 8 });
const dir = mkdtempSync(join(tmpdir(), 'stopledger-audit-'));
let chromium;
let list;
let twice; // a game charted twice in full
before(async () => {
  await server.start();
  chromium = await browser();
  list = (await server.json('/api/audit')).games;
  twice = list.find((g) => g.charts.some((c) => c.chart === 'second'));
  assert.ok(twice, 'no invented game is charted twice');
});
after(async () => {
  await chromium?.close();
  await server.stop();
  rmSync(dir, { recursive: true, force: true });
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

const places = (g) => [
  ['list', '/audit', 'table'], ['game', `/audit/${g}`, '[data-test=findings]'], ['agreement', `/audit/${g}/agreement`, '[data-test=alike]'],
  ['settling', `/audit/${g}/settling`, '[data-test=one]'], ['training', `/audit/${g}/training`, '[data-test=differs]'], ['charters', '/charters', 'section.card']
];
for (const [name, viewport, colorScheme] of [['wide-light', { width: 1280, height: 800 }, 'light'], ['middle-dark', { width: 1024, height: 768 }, 'dark'], ['small-light', { width: 390, height: 844 }, 'light']]) {
  test(`axe finds nothing in the Audit: ${name}`, { timeout: 240_000 }, async () => {
    const page = await use(chromium, viewport, { colorScheme, reducedMotion: 'reduce' });
    for (const [what, path, sign] of places(twice.game)) {
      await page.goto(server.url + path);
      await page.locator(sign).first().waitFor();
      await sound(page, `${name} ${what}`);
      await page.screenshot({ path: `${shots}audit-${name}-${what}.png` });
    }
    await page.context().close();
  });
}

test('what stands out is found, sorted, and opens the Pad where it is', { timeout: 120_000 }, async () => {
  const page = await use(chromium, { width: 1280, height: 800 });
  await page.goto(`${server.url}/audit`);
  await page.getByTestId('mark-twice').click();
  const shown = () => page.locator('tbody').evaluateAll((all) => all.map((b) => b.dataset.test.slice(5)));
  assert.deepEqual((await shown()).sort(), list.filter((g) => g.charts.length > 1).map((g) => g.game).sort());
  await page.getByTestId('mark-twice').click();
  await page.getByTestId('sort-coverage').click();
  const share = (id) => list.find((g) => g.game === id).charts.find((c) => c.chart === list.find((g) => g.game === id).record).coverage.share ?? 2;
  const shares = (await shown()).map(share);
  assert.deepEqual(shares, shares.toSorted((a, b) => a - b));

  const found = list.flatMap((g) => g.charts.map((c) => ({ game: g.game, chart: c.chart, n: Object.values(c.counts).reduce((a, b) => a + b, 0) }))).find((c) => c.n > 0);
  const report = (await server.json(`/api/audit/${found.game}`)).charts.find((c) => c.chart === found.chart);
  const at = report.findings.findIndex((f) => f.place.chance);
  assert.ok(at >= 0, 'no finding is about a chance');
  await page.goto(`${server.url}/audit/${found.game}?chart=${found.chart}`);
  await page.locator('[data-test=findings] li .go').nth(at).click();
  await page.locator('[data-test=chance][aria-current=true]').waitFor();
  const number = await page.locator('[data-test=chance]').evaluateAll((all) => all.findIndex((b) => b.getAttribute('aria-current') === 'true'));
  const { place } = report.findings[at];
  const label = await page.locator('[data-test=chance]').nth(number).textContent();
  const face = place.clock < 60 ? place.clock.toFixed(1) : `${Math.floor(place.clock / 60)}:${String(Math.floor(place.clock % 60)).padStart(2, '0')}`;
  assert.ok(label.includes(`Q${place.period} ${face}`), `the Pad stands at ${label} and not at the place of ${JSON.stringify(report.findings[at])}`);
  await page.context().close();
});

test('totals typed by hand are compared, and corrected', { timeout: 120_000 }, async () => {
  const page = await use(chromium, { width: 1280, height: 800 });
  const game = list.find((g) => g.charts.some((c) => c.totals === 'agree')).game;
  await page.goto(`${server.url}/audit/${game}`);
  const { info } = await server.json(`/api/games/${game}`);
  await page.getByTestId('enter-totals').click();
  const points = page.getByTestId(`total-${info.home.id}-points`);
  const was = Number(await points.inputValue());
  await points.fill(String(was + 1));
  await page.getByText('these shots make').waitFor();
  await page.getByTestId(`total-${info.home.id}-fgm`).fill('200');
  await page.getByText('more made than tried').waitFor();
  assert.ok(await page.getByTestId('totals-save').isDisabled());
  const made = (await server.json(`/api/audit/${game}`)).charts.find((c) => c.totals).totals.teams[0].lines.find((l) => l.name === 'fgm').official;
  await page.getByTestId(`total-${info.home.id}-fgm`).fill(String(made));
  await page.getByTestId('totals-save').click();
  await page.locator('[data-test=totals] .off').first().waitFor();
  assert.equal(await page.locator('[data-test=totals] .off').first().textContent(), '−1');
  await page.getByTestId('enter-totals').click();
  await points.fill(String(was));
  await page.getByTestId('totals-save').click();
  await page.getByText('Every line that this chart set out to hold').waitFor();
  await page.context().close();
});

// append charts facts of main through the gate that pads go through.
const append = (page, game, bodies) => page.evaluate(async ([game, bodies]) => {
  const line = new WebSocket(`ws://${location.host}/ws/pad`);
  await new Promise((r) => (line.onopen = r));
  line.send(JSON.stringify({ op: 'hello', game, chart: 'main', after: 1e9 }));
  for (const [i, [type, body]] of bodies.entries()) {
    const id = `0198f0c2-7c1e-7b1a-9a55-00000000000${i + 1}`;
    const safe = new Promise((r, no) => line.addEventListener('message', (m) => {
      const said = JSON.parse(m.data);
      if (said.id === id) (said.op === 'safe' ? r : no)(said);
    }));
    line.send(JSON.stringify({ op: 'append', event: { v: 1, id, game, chart: 'main', charter: 'ana', pad: 'film-1', n: i + 1, recorded: '2031-01-14T19:22:07Z', when: {}, type, body } }));
    await safe;
  }
  line.close();
}, [game, bodies]);

test('a disagreement opens on the film that is on this machine', { timeout: 180_000 }, async () => {
  const file = join(dir, 'game.webm');
  const made = spawnSync('ffmpeg', ['-loglevel', 'error', '-f', 'lavfi', '-i', 'testsrc=size=160x90:rate=10:duration=20', '-c:v', 'libvpx', '-g', '10', file]);
  assert.equal(made.status, 0, `ffmpeg is needed to make a film: ${made.stderr}`);
  const bytes = readFileSync(file);
  const size = Buffer.alloc(8);
  size.writeBigUInt64BE(BigInt(bytes.length));
  const id = `film-${createHash('sha256').update(size).update(bytes.subarray(0, 65536)).update(bytes.subarray(Math.max(0, bytes.length - 65536))).digest('hex').slice(0, 12)}`;
  const page = await use(chromium, { width: 1280, height: 800 });
  await page.goto(`${server.url}/audit`);
  const told = await server.json(`/api/audit/${twice.game}/settling?charts=main,second&base=main`);
  const { place } = told.disagreements.find((d) => d.id === told.moves[0].id);
  await append(page, twice.game, [['film-linked', { id, name: 'game.webm' }], ['film-anchored', { film: id, at: 12, period: place.period, clock: place.clock }]]);
  await page.goto(`${server.url}/audit/${twice.game}/settling`);
  await page.getByText('On film at 0:12 of game.webm').waitFor();
  await page.getByTestId('film-at').locator('input').setInputFiles(file);
  await page.waitForFunction(() => Math.abs(document.querySelector('video')?.currentTime - 7.5) < 0.6);
  await page.locator('body').press('Space');
  await page.waitForFunction(() => !document.querySelector('video').paused);
  await page.screenshot({ path: `${shots}audit-film.png` });
  await page.context().close();
});

test('charts are settled by keys, with the film beside, and the settled one adopted', { timeout: 180_000 }, async () => {
  const page = await use(chromium, { width: 1280, height: 800 });
  await page.goto(`${server.url}/audit/${twice.game}/settling`);
  await page.getByTestId('one').waitFor();
  const told = await server.json(`/api/audit/${twice.game}/settling?charts=main,second&base=main`);
  const choices = {};
  for (let i = 0; i < 7; i++) {
    const { id } = told.moves[i];
    const versions = told.disagreements.find((d) => d.id === id).versions;
    choices[id] = 'second';
    await type(page, `Digit${versions.findIndex((v) => v.chart === 'second') + 1}`);
    assert.equal(await page.locator('[data-test=version-second]').getAttribute('aria-pressed'), 'true');
    await type(page, 'Enter');
  }
  const answer = await fetch(`${server.url}/api/audit/${twice.game}/effect`, {
    method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ charts: ['main', 'second'], base: 'main', choices })
  });
  const { changes } = await answer.json();
  const size = (c) => (c.from === null || c.to === null ? (c.from === c.to ? 0 : Infinity) : Math.abs(c.to - c.from));
  const top = changes.toSorted((a, b) => size(b) - size(a))[0];
  await page.getByText('Settling these 7 moves').waitFor();
  const said = await page.getByTestId('effect').textContent();
  for (const x of [top.from, top.to]) assert.ok(said.includes(`${(100 * x).toFixed(1)}\u00a0%`), `${said} does not say ${x}`);

  await type(page, 'ArrowUp', 'Delete'); // one is left open again
  await page.getByText('Settling these 6 moves').waitFor();
  await page.screenshot({ path: `${shots}audit-settling.png` });

  const film = join(dir, 'invented.webm');
  const made = spawnSync('ffmpeg', ['-loglevel', 'error', '-f', 'lavfi', '-i', 'testsrc=size=160x90:rate=5:duration=4', '-c:v', 'libvpx', film]);
  assert.equal(made.status, 0, `ffmpeg is needed to make a film: ${made.stderr}`);
  await page.getByTestId('film-at').locator('input').setInputFiles(film);
  await page.getByText('The film that is open is another one').waitFor(); // it is not the game's

  await page.getByTestId('write-button').click();
  await page.getByTestId('written').waitFor();
  const game = await server.json(`/api/games/${twice.game}`);
  assert.equal(game.record, 'settled');
  await page.getByRole('link', { name: 'Audit it' }).click();
  await page.getByText('chart of record', { exact: true }).first().waitFor();
  await page.getByTestId('chart-main').click();
  await page.getByTestId('adopt').click();
  await page.getByText('chart of record', { exact: true }).first().waitFor();
  assert.equal((await server.json(`/api/games/${twice.game}`)).record, 'main');
  await page.context().close();
});

test('a game with one chart, one that is not there, and no line: each says so', { timeout: 120_000 }, async () => {
  const page = await use(chromium, { width: 1024, height: 768 }, { serviceWorkers: 'block' }); // else it fetches, and not the page
  const game = await openGame(page, server.url, { date: '2031-02-01' });
  await settled(page);
  await page.goto(`${server.url}/audit/${game}`);
  await page.getByTestId('findings').waitFor();
  await page.goto(`${server.url}/audit/${game}/settling`);
  await page.getByText('there is nothing to settle').waitFor();
  await page.goto(`${server.url}/audit/${game}/agreement`);
  await page.getByText('This game has one chart').waitFor();
  await page.goto(`${server.url}/audit/${game}/training`);
  await page.getByRole('link', { name: 'begin the chart' }).waitFor();
  await page.goto(`${server.url}/audit/never-played`);
  await page.getByRole('alert').waitFor();
  await page.route('**/api/audit', (r) => r.abort());
  await page.goto(`${server.url}/audit`);
  await page.getByText('the server does not answer').waitFor();
  await page.unroute('**/api/audit');
  await page.getByRole('button', { name: 'Try again' }).click();
  await page.getByTestId(`game-${game}`).waitFor();
  await page.context().close();
});
