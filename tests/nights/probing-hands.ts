/** The person's probes before the first run: asked for one after the other, and watched to their end. */

import { steadyBounds } from '../../daemon/run/probe-plan.ts';
import type { RunState } from '../../daemon/run/state.ts';
import type { Tank } from '../../daemon/control/tank.ts';
import type { Command, CommandAnswer } from '../../daemon/wire/command.ts';
import type { WantedProbe } from './besides.ts';

export interface ProbingParts {
  readonly wanted: readonly WantedProbe[];
  readonly tell: (command: Command, told: (answer: CommandAnswer) => void) => void;
  readonly note: (kind: string, what: string) => void;
  readonly stop: () => void;
  /** Puts the piece into the bath: a probe looks at what hangs there. */
  readonly hangPiece: () => void;
}

/** One that is refused so often is left out. */
const mostTries = 4;

export class ProbingHands {
  readonly #parts: ProbingParts;
  #made = 0;
  #tries = 0;
  #stopped = false;

  constructor(parts: ProbingParts) {
    this.#parts = parts;
  }

  /** Asks for the next probe; false where there is none left. */
  begin(tank: Tank, answered: () => void): boolean {
    const { wanted, tell, note, hangPiece } = this.#parts;
    const probe = wanted[this.#made];
    if (probe === undefined) return false;
    if (this.#made === 0 && this.#tries === 0) hangPiece();
    this.#tries += 1;
    tell(commandOf(probe, tank), (answer) => {
      note('person', `probe ${probe.kind}: ${answer.ok ? 'taken' : answer.reason}`);
      if (answer.ok || this.#tries >= mostTries) {
        this.#made += 1;
        this.#tries = 0;
        this.#stopped = false;
      }
      answered();
    });
    return true;
  }

  /** While one is on: the person stands before it. */
  watch({ poweredMs }: RunState): void {
    const stopAfterMs = this.#parts.wanted[this.#made - 1]?.stopAfterMs ?? null;
    if (this.#stopped || stopAfterMs === null || poweredMs === 0 || poweredMs < stopAfterMs) return;
    this.#stopped = true;
    this.#parts.stop();
  }
}

function commandOf({ kind, share }: WantedProbe, tank: Tank): Command {
  const asked = { kind: 'probe', tankId: 'one', by: 'the person', probe: kind } as const;
  if (kind !== 'meter') return asked;
  const { leastAmps, mostAmps } = steadyBounds(tank.facts, tank.capabilities.offAmps);
  return { ...asked, amps: leastAmps + share * (mostAmps - leastAmps) };
}
