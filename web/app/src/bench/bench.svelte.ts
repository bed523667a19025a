// What lies on the Bench: a text, what the server says of it, and the run of it
// against the definition it is compared with.
import { check, getBook, getVersion, runAgainst, type Book, type Checked, type Run } from './types';

const pause = 250; // milliseconds after a key before the server is asked

export class Bench {
  book: Book | undefined = $state.raw();
  text = $state('');
  origin = $state(''); // the hash that the text was opened from
  against = $state(''); // the hash it is compared with
  checked: Checked | undefined = $state.raw();
  result: Run | undefined = $state.raw();
  by: string[] = $state.raw(['defender', 'kind']);
  asOf = $state('');
  running = $state(false);
  trouble = $state('');
  runTrouble = $state('');
  opened = $state(0); // counts up when another text was put into the editor
  private timer?: ReturnType<typeof setTimeout>;
  private turn = 0;

  constructor(wanted: string) {
    void this.begin(wanted);
  }

  get invented(): boolean { return this.result?.invented ?? false; }
  get sound(): boolean { return this.checked !== undefined && this.checked.problems.length === 0; }
  get holds(): boolean { return this.sound && this.checked!.examples.every((e) => e.ok); }
  get changed(): boolean { return this.checked?.hash !== undefined && this.checked.hash !== this.origin; }

  close(): void {
    clearTimeout(this.timer);
    this.turn++;
  }

  private async begin(wanted: string): Promise<void> {
    try {
      await this.reload();
      this.against = this.book!.in_force.hash;
      await this.open(wanted || this.book!.in_force.hash);
    } catch (e) {
      this.trouble = (e as Error).message;
    }
  }

  async reload(): Promise<void> {
    this.book = await getBook();
  }

  // open puts a version into the editor.
  async open(hash: string): Promise<void> {
    const v = await getVersion(hash);
    this.text = v.text;
    this.origin = v.hash;
    this.opened++;
    await this.look();
  }

  // typed is called at every change of the text.
  typed(text: string): void {
    this.text = text;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.look(), pause);
  }

  private async look(): Promise<void> {
    const turn = ++this.turn;
    try {
      const said = await check(this.text);
      if (turn !== this.turn) return;
      this.checked = said;
      this.trouble = '';
      if (said.problems.length === 0) await this.run();
    } catch (e) {
      if (turn === this.turn) this.trouble = (e as Error).message;
    }
  }

  // run computes old against new over everything that is charted.
  async run(): Promise<void> {
    if (!this.sound) return;
    const text = this.text;
    this.running = true;
    try {
      const r = await runAgainst(text, this.against, this.by, this.asOf);
      if (text === this.text) this.result = r;
      this.runTrouble = '';
    } catch (e) {
      this.runTrouble = (e as Error).message;
    }
    this.running = false;
  }
}
