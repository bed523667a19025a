// The stage of the browser tests: a real server over a ledger of its own, and
// Chromium. STOPLEDGER names the program; by default it is built first.
import { spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, mkdirSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { chromium, selectors } from 'playwright-core';

selectors.setTestIdAttribute('data-test');

const root = fileURLToPath(new URL('../../..', import.meta.url));
export const shots = fileURLToPath(new URL('./shots/', import.meta.url));

let built = process.env.STOPLEDGER;
function program() {
  if (built) return built;
  built = join(mkdtempSync(join(tmpdir(), 'stopledger-bin-')), 'stopledger');
  const go = spawnSync('go', ['build', '-o', built, './cmd/stopledger'], { cwd: root, stdio: 'inherit' });
  if (go.status !== 0) throw new Error('the program does not build');
  return built;
}

export class Server {
  // games is how many invented games the ledger begins with.
  constructor({ games = 0 } = {}) {
    this.games = games;
    this.dir = mkdtempSync(join(tmpdir(), 'stopledger-test-'));
    this.port = 0;
  }

  // start serves the ledger; after a kill it does so again on the same port.
  async start() {
    const args = ['demo', '--games', String(this.games), '--ledger', join(this.dir, 'ledger'), '--listen', `127.0.0.1:${this.port}`];
    this.child = spawn(program(), args, { stdio: ['ignore', 'pipe', 'pipe'] });
    this.said = '';
    this.child.stderr.on('data', (d) => (this.said += d));
    this.url = await new Promise((resolve, reject) => {
      const find = (line) => {
        const m = /http:\/\/127\.0\.0\.1:(\d+)/.exec(line);
        if (m) {
          this.port = Number(m[1]);
          resolve(`http://127.0.0.1:${this.port}`);
        }
      };
      createInterface({ input: this.child.stdout }).on('line', find);
      createInterface({ input: this.child.stderr }).on('line', find);
      this.child.on('exit', (code) => reject(new Error(`the server ended with ${code}: ${this.said}`)));
    });
    for (let i = 0; i < 200; i++) {
      if ((await fetch(`${this.url}/api/games`).catch(() => null))?.ok) return;
      await new Promise((r) => setTimeout(r, 25));
    }
    throw new Error(`the server does not answer: ${this.said}`);
  }

  async kill(signal = 'SIGKILL') {
    const gone = new Promise((r) => this.child.once('exit', r));
    this.child.kill(signal);
    await gone;
  }

  async stop() {
    if (this.child.exitCode === null && this.child.signalCode === null) await this.kill('SIGTERM');
    rmSync(this.dir, { recursive: true, force: true });
  }

  async json(path) {
    const answer = await fetch(this.url + path);
    if (!answer.ok) throw new Error(`${path}: ${answer.status} ${await answer.text()}`);
    return answer.json();
  }
}

export async function browser() {
  mkdirSync(shots, { recursive: true });
  return chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync']
  });
}

// use opens a page in a context of its own, and fails the test on any error that
// the page throws.
export async function use(chromium, viewport, more = {}) {
  const context = await chromium.newContext({ viewport, ...more });
  const page = await context.newPage();
  page.on('pageerror', (err) => {
    throw err;
  });
  return page;
}

export const roster = (numbers) => numbers.map(([n, role]) => `${n},${role}`).join('\n');
export const harbour = roster([[3, 'guard'], [7, 'guard'], [12, 'wing'], [20, 'wing'], [44, 'big'], [9, 'guard'], [15, 'big']]);
export const millstone = roster([[1, 'guard'], [5, 'guard'], [11, 'wing'], [23, 'wing'], [50, 'big'], [8, 'guard'], [33, 'big']]);

// openGame opens a game of two invented teams through the page, fives set.
export async function openGame(page, url, { scope = 'both', fives = true, date = '2031-01-14' } = {}) {
  await page.goto(url);
  await page.getByTestId('open-game').click();
  await page.getByTestId('Home-team').fill('Harbour');
  await page.getByTestId('Home-roster').fill(harbour);
  await page.getByTestId('Away-team').fill('Millstone');
  await page.getByTestId('Away-roster').fill(millstone);
  if (fives) {
    for (const [side, list] of [['Home', [3, 7, 12, 20, 44]], ['Away', [1, 5, 11, 23, 50]]]) {
      for (const n of list) await page.getByRole('group', { name: side, exact: true }).getByRole('button', { name: `number ${n}`, exact: true }).click();
    }
  }
  await page.getByLabel('What it holds').selectOption(scope);
  if (scope === 'focus') await page.getByTestId('prospect').selectOption('harbour-12');
  await page.getByLabel('Date').fill(date);
  await page.getByTestId('open').click();
  await page.getByTestId('entry').waitFor();
  return `harbour-millstone-${date}`;
}

// type presses keys one after the other, by their place.
export async function type(page, ...codes) {
  for (const code of codes) await page.keyboard.press(code);
}

// settled waits until every key is worked off and everything charted is safe.
export async function settled(page) {
  await page.waitForFunction(() => document.querySelector('[data-busy="0"]') && document.querySelector('[data-test=waiting]')?.textContent === '0');
}
