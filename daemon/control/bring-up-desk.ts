/** Brings up a supply that no tank has yet, from the page: one question at a time, and never one in service. */

import { realpathSync } from 'node:fs';
import type { LinkSettings } from '../settings/model.ts';
import type { Command, CommandAnswer } from '../wire/command.ts';
import { expectIdentityOf, PortError, setAndReadBack, tryDialect } from './bring-up.ts';
import type { Place, SupplyLink } from './bring-up.ts';
import { refusal } from './refusal.ts';
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
    const owner = this.#ownerOf(command.link);
    if (owner !== null) {
      return refusal(
        'refused',
        `This supply is in service on ${owner}. It is not touched from here.`,
      );
    }
    if (this.#busy) return refusal('busy', 'A supply is being looked at already. Wait for it.');
    this.#busy = true;
    try {
      return await this.#ask(command);
    } catch (error) {
      if (!(error instanceof PortError)) throw error;
      return refusal('refused', error.message);
    } finally {
      this.#busy = false;
    }
  }

  async #ask(command: BringUp): Promise<CommandAnswer> {
    const { env, settingsFile } = this.#parts;
    const place: Place = { link: command.link, env, settingsFile };
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

  /** The tank that has this supply, by whatever name of the device; null where none has. */
  #ownerOf(link: SupplyLink): string | null {
    const wanted = lineName(link);
    for (const { settings } of this.#parts.tanks.values()) {
      if (lineName(settings.rectifier.link) === wanted) return settings.name;
    }
    return null;
  }
}

function lineName(link: LinkSettings): string {
  if (link.kind === 'in-process') return link.kind;
  if (link.kind === 'tcp') return `tcp ${link.host.toLowerCase()} ${link.port}`;
  try {
    return realpathSync(link.path);
  } catch {
    return link.path;
  }
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
