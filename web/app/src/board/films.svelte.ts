// Films that the reader opened from this machine. They never leave it; a film is
// known by the id and the name that the ledger has for it.
class Films {
  private urls: Record<string, string> = $state({});

  of(f: { id: string; name: string }): string | undefined {
    return this.urls[`${f.id} ${f.name}`];
  }

  take(f: { id: string; name: string }, file: File): void {
    const old = this.of(f);
    if (old) URL.revokeObjectURL(old);
    this.urls[`${f.id} ${f.name}`] = URL.createObjectURL(file);
  }
}

export const films = new Films();
