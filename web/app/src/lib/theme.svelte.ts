// Light, dark, or as the system has it.
const order = ['system', 'light', 'dark'] as const;
type Choice = (typeof order)[number];
const memory = 'stopledger-theme';

class Theme {
  choice = $state<Choice>((localStorage.getItem(memory) as Choice | null) ?? 'system');

  constructor() {
    this.apply();
  }

  get label(): string {
    return { system: 'Light as the system', light: 'Light', dark: 'Dark' }[this.choice];
  }

  turn(): void {
    this.choice = order[(order.indexOf(this.choice) + 1) % order.length]!;
    localStorage.setItem(memory, this.choice);
    this.apply();
  }

  private apply(): void {
    if (this.choice === 'system') delete document.documentElement.dataset.theme;
    else document.documentElement.dataset.theme = this.choice;
  }
}

export const theme = new Theme();
