// A film from this machine's disk. It never leaves it: the ledger holds its
// name, size and fingerprint, so that it is known again.

export class Film {
  playing = $state(false);
  at = $state(0);
  length = $state(0);
  rate = $state(1);
  looping = $state(false);
  private loopFrom = 0;
  private frame = 1 / 30; // seconds; measured while the film plays
  private video?: HTMLVideoElement;
  private lastFrame = 0;

  private constructor(readonly id: string, readonly name: string, readonly bytes: number, readonly fingerprint: string, readonly url: string) {}

  // open reads enough of a file to know it again.
  static async open(file: File): Promise<Film> {
    const part = 1 << 16;
    const ends = await Promise.all([file.slice(0, part), file.slice(-part)].map((b) => b.arrayBuffer()));
    const bytes = new Uint8Array(ends.reduce((n, b) => n + b.byteLength, 8));
    new DataView(bytes.buffer).setBigUint64(0, BigInt(file.size));
    bytes.set(new Uint8Array(ends[0]!), 8);
    bytes.set(new Uint8Array(ends[1]!), 8 + ends[0]!.byteLength);
    // Only secure contexts may hash; elsewhere name and size have to do.
    const sum = crypto.subtle ? new Uint8Array(await crypto.subtle.digest('SHA-256', bytes)) : new Uint8Array();
    const hex = Array.from(sum, (b) => b.toString(16).padStart(2, '0')).join('');
    const id = `film-${hex.slice(0, 12) || file.size}`;
    return new Film(id, file.name, file.size, hex, URL.createObjectURL(file));
  }

  // attach takes the element that shows the film.
  attach(video: HTMLVideoElement): () => void {
    this.video = video;
    const each = (_now: number, meta: { mediaTime: number }) => {
      const step = meta.mediaTime - this.lastFrame;
      // Frames may be skipped, never doubled: the shortest step seen is a frame.
      if (step > 0.005 && step < 0.06) this.frame = this.frame === 1 / 30 ? step : Math.min(this.frame, step);
      this.lastFrame = meta.mediaTime;
      this.at = video.currentTime;
      handle = video.requestVideoFrameCallback(each);
    };
    let handle = video.requestVideoFrameCallback(each);
    return () => {
      video.cancelVideoFrameCallback(handle);
      this.video = undefined;
    };
  }

  close(): void {
    URL.revokeObjectURL(this.url);
  }

  time = (): number => this.video?.currentTime ?? 0;

  play(): void {
    void this.video?.play().catch(() => undefined);
  }

  pause(): void {
    this.video?.pause();
  }

  toggle(): void {
    if (this.video?.paused) this.play();
    else this.pause();
  }

  seek(to: number): void {
    if (!this.video) return;
    this.video.currentTime = Math.min(this.length || Infinity, Math.max(0, to));
    this.at = this.video.currentTime;
  }

  step(frames: number): void {
    this.pause();
    this.seek(this.time() + frames * this.frame);
  }

  faster(by: number): void {
    const rates = [0.25, 0.5, 0.75, 1, 1.5, 2];
    const i = Math.min(rates.length - 1, Math.max(0, rates.indexOf(this.rate) + by));
    this.rate = rates[i]!;
    if (this.video) this.video.playbackRate = this.rate;
  }

  // loop repeats the last five seconds until it is turned off.
  loop(): void {
    this.looping = !this.looping;
    if (!this.looping) return;
    this.loopFrom = Math.max(0, this.time() - 5);
    this.loopTo = this.time();
    this.seek(this.loopFrom);
    this.play();
  }

  private loopTo = 0;

  tick(): void {
    if (!this.video) return;
    this.at = this.video.currentTime;
    if (this.looping && this.at >= this.loopTo) this.seek(this.loopFrom);
  }
}
