/** What a bring-up found: a line for each step, and the settings that follow from it. */

import type { LinkSettings } from '../settings/model.ts';

export interface Step {
  readonly id:
    | 'identity'
    | 'output'
    | 'limits'
    | 'set-points'
    | 'protections'
    | 'continuity'
    | 'drill'
    | 'mains';
  readonly state: 'ok' | 'failed' | 'skipped';
  readonly found: string;
}

/** A supply as it was found and as it may be set. */
export interface FoundSupply {
  readonly link: Exclude<LinkSettings, { kind: 'in-process' }>;
  readonly dialect: string;
  readonly identity: string;
  /** A text that tells it from other supplies: its model, or all that it says. */
  readonly expectIdentity: string;
  readonly maxAmps: number;
  readonly maxVolts: number;
}

export const afterMains = ['off', 'on', 'unknown'] as const;
/** What the output does when the mains comes back. */
export type AfterMains = (typeof afterMains)[number];

const mainsWords: Readonly<Record<AfterMains, string>> = {
  off: 'its output stays off when the mains comes back',
  on: 'ITS OUTPUT COMES BACK ON WITH THE MAINS. Put a contactor before it that stays open',
  unknown: 'it is not known what its output does when the mains comes back',
};

export function mainsSentence(after: AfterMains): string {
  return mainsWords[after];
}

/** A text in quotes as TOML takes it. */
function quoted(text: string): string {
  return JSON.stringify(text);
}

function linkText(link: FoundSupply['link']): string {
  if (link.kind === 'tcp') {
    return `{ kind = "tcp", host = ${quoted(link.host)}, port = ${link.port} }`;
  }
  const rate = link.baudRate === null ? '' : `, baudRate = ${link.baudRate}`;
  return `{ kind = "serial", path = ${quoted(link.path)}${rate} }`;
}

/** The lines of a tank that do not depend on its supply. */
export interface TankText {
  readonly id: string;
  readonly name: string;
  readonly bath: string;
  readonly volumeLitres: number;
  readonly anodeAreaDm2: number;
  readonly maxHours: number;
}

/** A block of settings, with a remark where the maker's own figure has to come in. */
export function settingsBlock(
  tank: TankText,
  supply: FoundSupply,
  remarks: readonly string[],
  own: boolean,
): string {
  const yours = own ? '' : '  # put in your own';
  return [
    ...remarks.map((remark) => `# ${remark}`),
    '[[tanks]]',
    `id = ${quoted(tank.id)}`,
    `name = ${quoted(tank.name)}${yours}`,
    `bath = ${quoted(tank.bath)}${yours}`,
    `volumeLitres = ${tank.volumeLitres}${yours}`,
    `anodeAreaDm2 = ${tank.anodeAreaDm2}${yours}`,
    `maxAmps = ${supply.maxAmps}`,
    `maxVolts = ${supply.maxVolts}`,
    `maxHours = ${tank.maxHours}`,
    '',
    '[tanks.rectifier]',
    'driver = "scpi"',
    `dialect = ${quoted(supply.dialect)}`,
    `expectIdentity = ${quoted(supply.expectIdentity)}`,
    `link = ${linkText(supply.link)}`,
  ].join('\n');
}
