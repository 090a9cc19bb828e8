/** Brings up a supply that no tank has yet, from the page: one question at a time, and never one in service. */

import type { RectifierIdentity } from '../../drivers/contract.ts';
import { isFinal } from '../run/state.ts';
import type { Command, CommandAnswer } from '../wire/command.ts';
import { expectIdentityOf, PortError, setAndReadBack, tryDialect } from './bring-up.ts';
import type { Place, SupplyLink } from './bring-up.ts';
import { refusal } from './refusal.ts';
import { compareLines, compareSupplies } from './same-line.ts';
import type { Tank } from './tank.ts';

type BringUp = Extract<Command, { kind: 'bring-up-try' | 'bring-up-set' }>;

export interface BringUpParts {
  readonly tanks: ReadonlyMap<string, Tank>;
  readonly env: NodeJS.ProcessEnv;
  readonly settingsFile: string;
}

export class BringUpDesk {
  readonly #parts: BringUpParts;
  #busy = false;

  constructor(parts: BringUpParts) {
    this.#parts = parts;
  }

  async answer(command: BringUp): Promise<CommandAnswer> {
    if (this.#busy) return refusal('busy', 'A supply is being looked at already. Wait for it.');
    this.#busy = true;
    try {
      const why = (await this.#whyInService(command.link)) ?? this.#whyRunning(command.link);
      return why === null ? await this.#ask(command) : refusal('refused', why);
    } catch (error) {
      if (!(error instanceof PortError)) throw error;
      return refusal('refused', error.message);
    } finally {
      this.#busy = false;
    }
  }

  async #ask(command: BringUp): Promise<CommandAnswer> {
    const { env, settingsFile } = this.#parts;
    const refuses = (identity: RectifierIdentity): string | null => this.#whyKnown(identity);
    const place: Place = { link: command.link, env, settingsFile, refuses };
    const tried = await tryDialect(place, command.dialect);
    if (!tried.fits) {
      if (command.kind === 'bring-up-try') return { ok: true, tried };
      return refusal('refused', `The supply does not answer in ${command.dialect}: ${tried.why}`);
    }
    const { report, lacks, dialect } = tried;
    const { identity, range, outputOn, standingErrors } = report;
    if (command.kind === 'bring-up-try') {
      return {
        ok: true,
        tried: {
          fits: true,
          dialect,
          lacks,
          identity: identity.text,
          expectIdentity: expectIdentityOf(report),
          maxVolts: range.maxVolts,
          maxAmps: range.maxAmps,
          outputOn,
          standingErrors: [...standingErrors],
        },
      };
    }
    const refused = whyNotSet(command, range, outputOn);
    if (refused !== null) return refused;
    const { maxAmps, maxVolts } = command;
    return { ok: true, steps: [...(await setAndReadBack(place, dialect, { maxAmps, maxVolts }))] };
  }

  /** Why a line is not asked, as a tank has it by whatever name; null where none has. */
  async #whyInService(link: SupplyLink): Promise<string | null> {
    for (const { settings } of this.#parts.tanks.values()) {
      const found = await compareLines(link, settings.rectifier.link);
      if (found === 'same') {
        return `This supply is in service on ${settings.name}. It is not touched from here.`;
      }
      const sensors = await Promise.all(
        (settings.sensors ?? []).map(async (sensor) => compareLines(link, sensor.link)),
      );
      if (sensors.includes('same')) {
        return `A sensor of ${settings.name} is on this line. It is not touched from here.`;
      }
      if (found === 'unknown' || sensors.includes('unknown')) {
        return (
          'An address cannot be looked up just now, so this may be a line that is in service on ' +
          `${settings.name}. It is not touched from here.`
        );
      }
    }
    return null;
  }

  /**
   * Why a supply is not touched, by what it answers: it may be in service under another name of its,
   * or at another of its ports. Nothing but its name was asked of it by then.
   */
  #whyKnown(identity: RectifierIdentity): string | null {
    for (const { settings, link, run } of this.#parts.tanks.values()) {
      if (link.identity === null || settings.rectifier.link.kind === 'in-process') continue;
      const found = compareSupplies(identity, link.identity);
      if (found === 'other') continue;
      const { name } = settings;
      if (found === 'same') {
        return (
          `This is the supply in service on ${name}, by another name: it gives the same maker, ` +
          'model and serial number. It is not touched from here.'
        );
      }
      // One that is out of reach while another answers is another one.
      if (!link.connected && !isUnderWay(run)) continue;
      return (
        `It answers just as the supply of ${name} does, and gives no serial number: it may be that ` +
        `one by another name. Switch the supply of ${name} off at its mains switch, wait until ` +
        'Nightbath says that it does not answer, and ask again.'
      );
    }
    return null;
  }

  /** A supply has more addresses than can be known here: so none is asked while one has work to do. */
  #whyRunning(link: SupplyLink): string | null {
    if (link.kind !== 'tcp') return null;
    const running = [...this.#parts.tanks.values()].find(
      ({ settings, run }) => settings.rectifier.link.kind === 'tcp' && isUnderWay(run),
    );
    if (running === undefined) return null;
    return (
      `${running.settings.name} has a supply on the network and a run that is not over. ` +
      'Until then no supply on the network is looked at, as it may be that one by another name.'
    );
  }
}

/** A run with work to do, or one whose output was not read back as off. */
function isUnderWay(run: Tank['run']): boolean {
  if (run === null) return false;
  return !(isFinal(run.state.lifecycle) && run.state.output === 'confirmedOff');
}

function whyNotSet(
  { maxAmps, maxVolts }: Extract<BringUp, { kind: 'bring-up-set' }>,
  range: { readonly maxAmps: number; readonly maxVolts: number },
  outputOn: boolean | null,
): CommandAnswer | null {
  if (outputOn === true) {
    const found = 'Its output is on. Switch it off at its panel, and look what hangs on it.';
    return refusal('refused', found);
  }
  const problems = [
    { field: 'maxAmps', value: maxAmps, most: range.maxAmps, unit: 'A' },
    { field: 'maxVolts', value: maxVolts, most: Math.min(60, range.maxVolts), unit: 'V' },
  ].flatMap(({ field, value, most, unit }) => {
    if (value <= most) return [];
    const bound = `at most ${most} ${unit}`;
    const message = `${field} is ${value} ${unit}; it must be ${bound}, which is what this supply gives.`;
    return [{ field, value: String(value), bound, message }];
  });
  const [first] = problems;
  return first === undefined ? null : refusal('invalid', first.message, problems);
}
