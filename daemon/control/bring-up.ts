/** Looks at a supply with its output off: who it is, what it can do, and whether it keeps what it is told. */

import {
  RectifierError,
  RefusedSupplyError,
  type ConnectionReport,
  type Rectifier,
  type RectifierIdentity,
} from '../../drivers/contract.ts';
import { createRectifier, parseDialect, systemClock } from '../../drivers/registry.ts';
import { loadDialect } from '../settings/door.ts';
import type { LinkSettings } from '../settings/model.ts';

/** How a supply that is no tank's yet is reached. */
export type SupplyLink = Exclude<LinkSettings, { kind: 'in-process' }>;

/** What a step of these came to. */
export interface SupplyStep {
  readonly id: 'set-points' | 'output';
  readonly state: 'ok' | 'failed';
  readonly found: string;
}

export interface Place {
  /** Why a supply is not to be touched, by its identity; left out, any may be. */
  readonly refuses?: (identity: RectifierIdentity) => string | null;
  readonly link: SupplyLink;
  readonly env: NodeJS.ProcessEnv;
  readonly settingsFile: string;
}

export interface Limits {
  readonly maxAmps: number;
  readonly maxVolts: number;
}

/** Until the maker has named limits, no set-point is sent at all; these only bound the driver. */
const beforeAsking: Limits = { maxAmps: 0.001, maxVolts: 0.1 };

async function driverFor(place: Place, dialect: string, limits: Limits): Promise<Rectifier> {
  const { refuses } = place;
  return createRectifier({
    ...(refuses && { refuses }),
    driver: 'scpi',
    dialect: parseDialect(loadDialect(dialect, place.env, place.settingsFile)),
    link: place.link,
    clock: systemClock,
    expectIdentity: null,
    hardLimits: limits,
    simulated: false,
  });
}

/** A dialect that was tried: what the supply answered in it, or why it does not fit. */
export type Tried =
  | {
      readonly dialect: string;
      readonly fits: true;
      readonly report: ConnectionReport;
      readonly lacks: string;
    }
  | { readonly dialect: string; readonly fits: false; readonly why: string };

/** Nobody is at this port, or nobody may be: trying further dialects would change nothing. */
export class PortError extends Error {
  override readonly name = 'PortError';
}

/** Tries one dialect: identify and look. Nothing is set and nothing is switched. */
export async function tryDialect(place: Place, dialect: string): Promise<Tried> {
  let rectifier: Rectifier;
  try {
    rectifier = await driverFor(place, dialect, beforeAsking);
  } catch (error) {
    // One dialect file that is wrong keeps nobody from trying the others.
    const [first] = (error instanceof Error ? error.message : String(error)).split('\n');
    return { dialect, fits: false, why: `cannot be used: ${first}` };
  }
  try {
    const report = await rectifier.connect();
    return { dialect, fits: true, report, lacks: lacksOf(rectifier) };
  } catch (error) {
    if (!(error instanceof RectifierError)) throw error;
    const mayNotBe = error instanceof RefusedSupplyError;
    if (mayNotBe || error.kind === 'cannotOpen' || error.kind === 'locked') {
      throw new PortError(error.message, { cause: error });
    }
    return { dialect, fits: false, why: error.message };
  } finally {
    await rectifier.close().catch(() => undefined);
  }
}

function lacksOf({ capabilities }: Rectifier): string {
  const { overVoltageLevel, overCurrentLevel, outputReadback, setPointReadback } = capabilities;
  return [
    overVoltageLevel ? '' : 'an over-voltage limit',
    overCurrentLevel ? '' : 'an over-current limit',
    outputReadback ? '' : 'the state of its output',
    setPointReadback ? '' : 'its set-points',
  ]
    .filter((one) => one !== '')
    .join(', ');
}

/** A model tells a supply from another kind; where there is none, all that it says does. */
export function expectIdentityOf({ identity }: ConnectionReport): string {
  return identity.model === '' ? identity.text : identity.model;
}

/** Sets a low voltage and current with the output off, with the protections, and reads all back. */
export async function setAndReadBack(
  place: Place,
  dialect: string,
  limits: Limits,
): Promise<readonly SupplyStep[]> {
  const rectifier = await driverFor(place, dialect, limits);
  try {
    await rectifier.connect();
    return [await setPoints(rectifier, limits), await readOff(rectifier)];
  } catch (error) {
    if (error instanceof RefusedSupplyError) throw new PortError(error.message, { cause: error });
    const found = error instanceof Error ? error.message : String(error);
    return [{ id: 'set-points', state: 'failed', found }, await readOff(rectifier)];
  } finally {
    await rectifier.close().catch(() => undefined);
  }
}

/** OFF once more over a line of its own, and what the supply says to it. */
export async function offAfterwards(
  place: Place,
  dialect: string,
  limits: Limits,
): Promise<SupplyStep> {
  const rectifier = await driverFor(place, dialect, limits);
  try {
    return await readOff(rectifier);
  } finally {
    await rectifier.close().catch(() => undefined);
  }
}

async function setPoints(rectifier: Rectifier, limits: Limits): Promise<SupplyStep> {
  const { range, capabilities } = rectifier;
  const volts = Math.max(range.minVolts, Math.min(1, limits.maxVolts / 2));
  const amps = Math.max(range.minAmps, limits.maxAmps / 10);
  const set = await rectifier.program({
    volts,
    amps,
    resetTrips: true,
    ...(capabilities.overVoltageLevel && { overVoltageVolts: limits.maxVolts }),
    ...(capabilities.overCurrentLevel && { overCurrentAmps: limits.maxAmps }),
  });
  const told = [
    `${shown(set.volts ?? volts)} V`,
    `${shown(set.amps ?? amps)} A`,
    set.overVoltageVolts === null
      ? ''
      : `over-voltage ${shown(set.overVoltageVolts)} V${on(capabilities.overVoltageReadsOn)}`,
    set.overCurrentAmps === null
      ? ''
      : `over-current ${shown(set.overCurrentAmps)} A${on(capabilities.overCurrentReadsOn)}`,
  ].filter((one) => one !== '');
  const how = set.volts === null ? 'sent; it cannot be asked for them' : 'set and read back';
  return { id: 'set-points', state: 'ok', found: `${told.join(', ')}: ${how}` };
}

const on = (readBack: boolean): string => (readBack ? ' and switched on' : '');

const shown = (value: number): string => String(Number(value.toFixed(4)));

async function readOff(rectifier: Rectifier): Promise<SupplyStep> {
  const off = await rectifier.off();
  const amps = off.amps === null ? '' : `, ${off.amps.toFixed(3)} A`;
  return off.confirmed
    ? { id: 'output', state: 'ok', found: `OFF was sent and read back${amps}` }
    : { id: 'output', state: 'failed', found: `OFF IS NOT CONFIRMED. ${off.reason}` };
}
