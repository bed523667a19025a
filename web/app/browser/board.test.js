// The Board in a browser, over an invented season: three sentences, every number
// opens its chances, the film plays where it is, addresses can be passed on, and
// the page moves with the game without moving under the finger.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { browser, Server, shots, use } from './stage.js';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const server = new Server({ games: 8 });
const dir = mkdtempSync(join(tmpdir(), 'stopledger-board-'));
const wide = { width: 1280, height: 800 };
let chromium;
let player; // whoever has most film
let second;
before(async () => {
  await server.start();
  chromium = await browser();
  const { players } = await server.json('/api/board');
  players.sort((a, b) => b.actions - a.actions);
  [player, second] = players.map((p) => p.id);
});
after(async () => {
  await chromium?.close();
  await server.stop();
  rmSync(dir, { recursive: true, force: true });
});

// cli runs the program beside the server, on the same ledger.
function cli(...args) {
  const r = spawnSync(server.child.spawnfile, args, { encoding: 'utf8' });
  assert.equal(r.status, 0, `stopledger ${args.join(' ')}: ${r.stderr}`);
  return r.stdout;
}
const ledger = () => join(server.dir, 'ledger');

async function sound(page, what) {
  await page.evaluate(axe);
  const found = await page.evaluate(async () => {
    const { violations } = await window.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] });
    return violations.map((v) => `${v.id}: ${v.nodes.slice(0, 3).map((n) => `${n.target} ${n.failureSummary}`).join(' | ')}`);
  });
  assert.deepEqual(found, [], what);
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${what} is wider than the screen`);
}

async function board(page, path = `/board/${player}`) {
  await page.goto(server.url + path);
  await page.getByTestId('facts').first().waitFor();
}

for (const [name, viewport, colorScheme] of [['wide-light', wide, 'light'], ['middle-dark', { width: 1024, height: 768 }, 'dark'], ['small-light', { width: 390, height: 844 }, 'light']]) {
  test(`axe finds nothing on the Board: ${name}`, { timeout: 120_000 }, async () => {
    const page = await use(chromium, viewport, { colorScheme });
    await page.goto(`${server.url}/board`);
    await page.getByTestId(`open-${player}`).waitFor();
    await sound(page, 'players');
    await board(page, `/board/${player}/${second}`);
    await page.locator('.plot svg').first().waitFor();
    await sound(page, 'two players');
    await board(page);
    await page.locator('.kind summary').first().click();
    await page.locator('.plot svg').first().waitFor();
    await page.screenshot({ path: join(shots, `board-${name}.png`), fullPage: true });
    await sound(page, 'one player');
    await page.getByRole('button', { name: /broken$/ }).first().click();
    await page.getByTestId('evidence-row').first().waitFor();
    await page.screenshot({ path: join(shots, `evidence-${name}.png`) });
    await sound(page, 'the chances behind a number');
    await page.context().close();
  });
}

test('the numbers are the command line’s to the last digit', { timeout: 60_000 }, async () => {
  const file = join(dir, 'numbers.json');
  cli('brief', '--ledger', ledger(), '--player', player, '--out', file);
  const { profile } = await server.json(`/api/players/${player}`);
  assert.deepEqual(profile, JSON.parse(readFileSync(file, 'utf8')));
  const mine = await server.json('/api/rates?by=defender,kind');
  const theirs = JSON.parse(cli('rates', '--ledger', ledger(), '--by', 'defender,kind', '--format', 'json'));
  assert.equal(mine.digest, theirs.ledger.digest);
  assert.equal(mine.hash, theirs.definition.hash);
  assert.equal(mine.groups.length, theirs.groups.length);
  theirs.groups.forEach((g, i) => {
    const m = mine.groups[i];
    assert.deepEqual(m.key, [g.defender, g.kind]);
    for (const name of ['actions', 'chances', 'games', 'trials', 'weight', 'stops', 'stop_rate', 'wilson', 'effective', 'points', 'points_per_chance', 'held', 'even', 'broken', 'unclear']) {
      assert.deepEqual(m[name], g[name], `${m.key} ${name}`);
    }
  });
});

test('the page shows those numbers, and each opens as many chances as it says', { timeout: 120_000 }, async () => {
  const page = await use(chromium, wide);
  await board(page);
  const { profile } = await server.json(`/api/players/${player}`);
  assert.deepEqual(await page.getByTestId('facts').locator('dd').allTextContents(), profile.facts.map((f) => f.text));
  const shown = await page.locator('[data-test^=kind-]').evaluateAll((list) => list.map((e) => e.dataset.test.slice(5)));
  assert.deepEqual(shown, profile.kinds.map((k) => k.kind), 'worst first');
  for (const k of profile.kinds.slice(0, 3)) {
    const card = page.getByTestId(`kind-${k.kind}`);
    assert.equal(await card.locator('.text').textContent(), k.text);
    for (const reading of ['broken', 'held']) {
      if (k[reading] === 0) continue;
      await card.getByRole('button', { name: `${k[reading]} ${reading}` }).first().click();
      const said = await page.getByTestId('evidence-counts').textContent();
      assert.match(said, new RegExp(`^${k[reading]} action`), `${k.kind} ${reading}`);
      await page.getByTestId('evidence-close').click();
      await page.getByTestId('evidence').waitFor({ state: 'detached' });
    }
  }
  const u = profile.untested;
  await page.getByRole('button', { name: /chances not tested/ }).click();
  assert.match(await page.getByTestId('evidence-counts').textContent(), new RegExp(`^${u.on_floor - u.acted} chance`));
  await page.getByTestId('evidence-close').click();
  if (profile.first_breaks.first > 0) {
    await page.getByRole('button', { name: /first breaks/ }).click();
    assert.match(await page.getByTestId('evidence-counts').textContent(), new RegExp(`^${profile.first_breaks.first} action`));
  }
  await page.context().close();
});

test('an address can be passed on: filters, two players, what is open', { timeout: 60_000 }, async () => {
  const page = await use(chromium, wide);
  await board(page);
  await page.getByTestId('filters').locator('summary').click();
  await page.getByTestId('filter-role').selectOption('guard');
  await page.getByTestId('pick-second').selectOption(second);
  await page.getByTestId(`player-${second}`).getByTestId('facts').waitFor();
  await page.getByTestId(`player-${player}`).getByRole('button', { name: /^\d+ actions?$/ }).first().click();
  await page.getByTestId('evidence-row').first().waitFor();
  const said = await page.getByTestId('evidence-counts').textContent();
  const other = await use(chromium, wide);
  await other.goto(page.url());
  await other.getByTestId('evidence-row').first().waitFor();
  assert.equal(await other.getByTestId('evidence-counts').textContent(), said);
  assert.equal(await other.getByTestId('filter-role').inputValue(), 'guard');
  const narrowed = (await server.json(`/api/players/${player}?role=guard`)).profile.film.actions;
  assert.match(said, new RegExp(`^${narrowed} action`));
  await other.keyboard.press('Escape');
  await other.getByTestId('evidence').waitFor({ state: 'detached' });
  assert.ok(!other.url().includes('open='), 'closed, and the address still says it is open');
  for (const p of [page, other]) await p.context().close();
});

test('a chance plays from the film on this machine, from five seconds before it', { timeout: 120_000 }, async () => {
  const rows = (await server.json(`/api/evidence?defender=${player}`)).rows.filter((r) => r.film);
  assert.ok(rows.length > 0, 'no chance of his is on film');
  const row = rows[0];
  const film = join(dir, 'film.webm');
  const made = spawnSync('ffmpeg', ['-loglevel', 'error', '-f', 'lavfi', '-i', `color=gray:size=64x36:rate=2:duration=${Math.ceil(row.film.end + 30)}`, '-c:v', 'libvpx', '-b:v', '20k', '-g', '10', film]);
  assert.equal(made.status, 0, `ffmpeg is needed to make a film: ${made.stderr}`);
  const page = await use(chromium, wide);
  await board(page, `/board/${player}?open=defender%3D${player}&open_label=all`);
  const first = page.getByTestId('evidence-row').filter({ hasText: row.film.name }).first();
  await first.locator('input[type=file]').setInputFiles(film);
  await page.waitForFunction(() => document.querySelector('[data-test=clip]')?.currentTime > 0);
  const at = await page.getByTestId('clip').evaluate((v) => Number(/#t=([\d.]+)/.exec(v.src)[1]));
  assert.ok(Math.abs(at - Math.max(0, row.film.at - Math.max(5, row.film.doubt))) < 0.01, `plays from ${at}; the chance is at ${row.film.at}`);
  assert.ok((await page.getByTestId('clip').evaluate((v) => v.currentTime)) >= at - 0.6);
  await page.context().close();
});

test('clip lists are saved, one for each film, and what cannot be shown is said', { timeout: 60_000 }, async () => {
  const page = await use(chromium, wide, { acceptDownloads: true });
  await board(page, `/board/${player}?open=defender%3D${player}%26reading%3Dbroken&open_label=broken`);
  await page.getByTestId('evidence-row').first().waitFor();
  const saved = page.waitForEvent('download');
  await page.getByTestId('make-clips').click();
  const text = readFileSync(await (await saved).path(), 'utf8');
  assert.match(text, /^WEBVTT/);
  assert.match(text, /INVENTED/);
  await page.context().close();
});

test('the brief prints on one or two pages and stands alone', { timeout: 60_000 }, async () => {
  const page = await use(chromium, wide);
  const wanted = [];
  page.on('request', (r) => wanted.push(r.url()));
  page.on('console', (m) => m.type() === 'error' && assert.fail(m.text()));
  await page.goto(`${server.url}/api/players/${player}/brief`);
  await page.screenshot({ path: join(shots, 'brief.png'), fullPage: true });
  await sound(page, 'the brief');
  assert.deepEqual(wanted.filter((u) => !u.endsWith('/brief') && !u.endsWith('favicon.ico')), []);
  const pdf = await page.pdf({ preferCSSPageSize: true });
  writeFileSync(join(shots, 'brief.pdf'), pdf);
  const pages = pdf.toString('latin1').match(/\/Type\s*\/Page[^s]/g)?.length ?? 0;
  assert.ok(pages === 1 || pages === 2, `${pages} pages`);
  await page.context().close();
});

// A game that is charted meanwhile comes by the ledger, as from a pad.
test('the page moves with the game, and nothing moves under the finger', { timeout: 120_000 }, async () => {
  const page = await use(chromium, wide);
  await board(page);
  const before = (await server.json(`/api/players/${player}`)).profile.film.actions;
  const order = () => page.locator('[data-test^=kind-]').evaluateAll((list) => list.map((e) => e.dataset.test));
  const was = await order();
  await page.getByTestId(was[3]).scrollIntoViewIfNeeded();
  const top = await page.getByTestId(was[3]).evaluate((e) => e.getBoundingClientRect().top);
  // The worst kind so far gets fifty stops more, so that the order would change.
  const kind = was[0].slice(5);
  const held = (await (await fetch(`${server.url}/api/vocabulary`)).json()).kinds.find((k) => k.kind === kind).outcomes.find((o) => o.reading === 'held').outcome;
  const { players, teams } = await server.json('/api/board');
  const his = players.find((p) => p.id === player);
  const other = players.find((p) => p.team !== his.team);
  const lines = [];
  const id = (n) => `0198f0c2-7c1e-7b1a-9a55-${n.toString(16).padStart(12, '0')}`;
  const line = (type, clock, body) => lines.push(JSON.stringify({ v: 1, id: id(lines.length + 1), game: 'live-game', chart: 'main', charter: 'ana', pad: 'livepad', n: lines.length + 1, recorded: '2031-12-14T19:22:07.318Z', when: { period: 1, clock }, type, body }));
  line('game-opened', 600, { rules: 'fiba', level: 'college', date: '2031-12-14', home: { id: his.team, name: teams[his.team] }, away: { id: other.team, name: teams[other.team] }, players: [his, other].map(({ id, team, number, role }) => ({ id, team, number, role })), invented: true });
  for (let i = 0; i < 50; i++) {
    const clock = 590 - 10 * i;
    line('chance-began', clock, { offence: other.team, origin: 'make' });
    const chance = id(lines.length);
    line('action', clock - 2, { chance, kind, defender: player, opponent: other.id, outcome: held });
    line('chance-ended', clock - 4, { chance, end: 'missed-2', rebound: 'defence' });
  }
  const file = join(dir, 'live.jsonl');
  writeFileSync(file, `${lines.join('\n')}\n`);
  cli('load', '--ledger', ledger(), file);
  await page.waitForFunction((n) => document.querySelector('.film button')?.textContent.trim() === `${n} actions`, before + 50);
  assert.deepEqual(await order(), was, 'the order changed under the finger');
  assert.ok(Math.abs((await page.getByTestId(was[3]).evaluate((e) => e.getBoundingClientRect().top)) - top) < 60, 'the page jumped');
  const fresh = (await server.json(`/api/players/${player}`)).profile.kinds.map((k) => `kind-${k.kind}`);
  if (fresh.join() !== was.join()) {
    await page.getByTestId('reorder').click();
    assert.deepEqual(await order(), fresh);
  }
  await page.context().close();
});

test('who is not there, and a ledger without anybody', { timeout: 60_000 }, async () => {
  const page = await use(chromium, wide);
  await page.goto(`${server.url}/board/nobody-here`);
  await page.getByRole('alert').filter({ hasText: 'nobody-here' }).waitFor();
  const empty = new Server();
  await empty.start();
  await page.goto(`${empty.url}/board`);
  await page.getByText('Nothing is charted yet').waitFor();
  await sound(page, 'an empty Board');
  await page.context().close();
  await empty.stop();
});
