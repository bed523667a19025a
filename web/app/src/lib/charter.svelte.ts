// Who charts at this machine.
import { token } from './events';

const memory = 'stopledger-charter';

class Charter {
  id = $state(localStorage.getItem(memory) || 'charter');

  rename(name: string): void {
    this.id = token(name) || 'charter';
    localStorage.setItem(memory, this.id);
  }
}

export const charter = new Charter();
