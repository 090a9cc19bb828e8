/** From a name to a driver: the built-in one, or a maker's own module; and the ports of this machine. */

import { readdir, realpath } from 'node:fs/promises';
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { SerialPort } from 'serialport';
import type { DriverClock, Rectifier, RectifierIdentity } from './contract.ts';
import { withDeadline } from './link/deadline.ts';
import { createInProcessLink, type Instrument } from './link/in-process.ts';
import type { Framing, Link } from './link/link.ts';
import { createSerialLink } from './link/serial.ts';
import { createTcpLink } from './link/tcp.ts';
import type { Dialect } from './scpi/dialect-schema.ts';
import { createScpiRectifier } from './scpi/driver.ts';
import { createInstrument } from './simulated/instrument.ts';
import { personalities } from './simulated/model.ts';
import { createPacedClock, type PacedClock } from './simulated/pace.ts';

export { Sensor, type SensorSpec } from './sensor/sensor.ts';
export { withAmmeterFactor } from './corrected.ts';
export { parseDialect } from './scpi/dialect.ts';

/** How a supply is reached. */
type LinkSpec =
  | {
      readonly kind: 'serial';
      readonly path: string;
      /** Null takes the dialect's own rate. */
      readonly baudRate: number | null;
    }
  | { readonly kind: 'tcp'; readonly host: string; readonly port: number }
  | { readonly kind: 'in-process'; readonly instrument: Instrument };

/** Everything that makes a rectifier. */
export interface RectifierSpec {
  /** `scpi`, or the path of a module that exports `createRectifier(spec)`. */
  readonly driver: string;
  readonly dialect: Dialect;
  readonly link: LinkSpec;
  readonly clock: DriverClock;
  /** A supply whose identity does not hold this text is refused; null takes any. */
  readonly expectIdentity: string | null;
  /**
   * Why a supply is not to be touched, by its identity; null where it may be. Asked before anything
   * else is sent.
   */
  readonly refuses?: (identity: RectifierIdentity) => string | null;
  /** No set-point above these is ever sent, A and V. */
  readonly hardLimits: { readonly maxAmps: number; readonly maxVolts: number };
  readonly simulated: boolean;
}

/** Real monotonic time. */
export const systemClock: DriverClock = {
  nowMs: () => performance.now(),
  sleep: (durationMs) =>
    new Promise((done) => {
      setTimeout(done, durationMs);
    }),
};

function framingOf({ rx }: Dialect): Framing {
  return rx.mode === 'line'
    ? { kind: 'lines', terminator: rx.terminator, maxBytes: rx.maxBytes }
    : { kind: 'raw', maxBytes: rx.maxBytes };
}

function createLink({ link, dialect, clock }: RectifierSpec): Link {
  const framing = framingOf(dialect);
  switch (link.kind) {
    case 'serial': {
      const { path, baudRate } = link;
      const { settleMs: _, preamble: __, ...line } = dialect.link;
      const options = { ...line, path, baudRate: baudRate ?? dialect.link.baudRate };
      return createSerialLink(options, clock, framing);
    }
    case 'tcp':
      return createTcpLink(link, clock, framing);
    case 'in-process':
      return createInProcessLink(link.instrument, clock, framing);
  }
}

function isOwnDriver(module: unknown): module is {
  createRectifier: (spec: RectifierSpec) => Rectifier | Promise<Rectifier>;
} {
  return (
    typeof module === 'object' &&
    module !== null &&
    'createRectifier' in module &&
    typeof module.createRectifier === 'function'
  );
}

async function loadOwnDriver(spec: RectifierSpec): Promise<Rectifier> {
  const path = resolve(spec.driver);
  let module: unknown;
  try {
    module = await import(pathToFileURL(path).href);
  } catch (cause) {
    const why = cause instanceof Error ? cause.message : String(cause);
    throw new Error(`The driver ${path} cannot be loaded: ${why}`, { cause });
  }
  if (!isOwnDriver(module)) {
    throw new Error(`The driver ${path} does not export a function createRectifier.`);
  }
  return module.createRectifier(spec);
}

/** Makes a rectifier; nothing is opened yet. Throws when a driver of one's own cannot be loaded. */
export async function createRectifier(spec: RectifierSpec): Promise<Rectifier> {
  if (spec.driver !== 'scpi') return loadOwnDriver(spec);
  const { link, dialect, clock, expectIdentity, refuses, hardLimits, simulated } = spec;
  const line = createLink(spec);
  return createScpiRectifier({
    dialect,
    clock,
    expectIdentity,
    refuses,
    hardLimits,
    simulated,
    link: line,
    baudRate: link.kind === 'serial' ? (link.baudRate ?? dialect.link.baudRate) : null,
    path: link.kind === 'in-process' ? null : line.name,
  });
}

/** A simulated supply with its bath in this process, and the virtual time in which both live. */
export interface SimulatedBench {
  readonly instrument: Instrument;
  readonly clock: PacedClock;
  /** Hangs a piece in the simulated bath, bare but for its paint; only while the output is off. */
  hang(piece: SimulatedPiece): void;
}

/** What a simulated bath has to know of a piece. */
export interface SimulatedPiece {
  readonly areaDm2: number;
  readonly paint: 'silver' | 'copper' | 'graphite' | 'none';
  /** How much it grows per ampere-hour, dm2; 0 or more. */
  readonly growthDm2PerAmpHour: number;
}

/**
 * Makes a simulated supply that speaks the named dialect, in front of a cell like the named tank's.
 * Throws a RangeError for a dialect that no simulated supply speaks.
 */
export function createSimulatedBench(options: {
  readonly dialectName: string;
  readonly anodeAreaDm2: number;
  readonly seed: number;
}): SimulatedBench {
  const personality = personalities.find((one) => one === options.dialectName);
  if (personality === undefined) {
    throw new RangeError(
      `A simulated supply in this process speaks ${personalities.join(', ')}; not "${options.dialectName}".`,
    );
  }
  const clock = createPacedClock({ scale: 1, startWallMs: Date.now() });
  const instrument = createInstrument({
    personality,
    seed: options.seed,
    cell: { anodeAreaDm2: options.anodeAreaDm2 },
  });
  return { clock, instrument, hang: (piece) => instrument.hang(piece, clock.nowMs()) };
}

/** A serial port of this machine. */
export interface SerialPortEntry {
  readonly path: string;
  /** A path that survives unplugging; null where the system gives none. */
  readonly stablePath: string | null;
  readonly description: string;
}

const LIST_TIMEOUT_MS = 5000;
const BY_ID = '/dev/serial/by-id';

/** Stable links by the device they lead to; empty where the system has none. */
async function stableLinks(): Promise<Map<string, string>> {
  const links = new Map<string, string>();
  const names = await readdir(BY_ID).catch(() => []);
  for (const name of names) {
    const link = `${BY_ID}/${name}`;
    const device = await realpath(link).catch(() => null);
    if (device !== null) links.set(device, link);
  }
  return links;
}

/** Ports without udev's help, as in a slim container: what the names in /dev tell. */
async function portsByName(): Promise<{ path: string; description: string }[]> {
  const names = await readdir('/dev').catch(() => []);
  return names
    .filter((name) => /^tty(?:USB|ACM)\d+$/.test(name))
    .map((name) => ({ path: `/dev/${name}`, description: 'USB serial port' }));
}

async function portsBySystem(): Promise<{ path: string; description: string }[]> {
  const late = (): Error => new Error('udevadm does not answer');
  const ports = await withDeadline(SerialPort.list(), LIST_TIMEOUT_MS, late);
  return ports
    .filter(({ vendorId }) => vendorId !== undefined)
    .map(({ path, manufacturer, vendorId, productId, serialNumber }) => ({
      path,
      description: [
        manufacturer ?? `USB ${vendorId}:${productId ?? '?'}`,
        ...(serialNumber === undefined ? [] : [`serial ${serialNumber}`]),
      ].join(', '),
    }));
}

/** Serial ports a supply may hang on, sorted by path. Ports of the motherboard are left out. */
export async function listSerialPorts(): Promise<SerialPortEntry[]> {
  const links = await stableLinks();
  // Without udevadm the list fails; the names in /dev are then all there is.
  const known = await portsBySystem().catch(() => portsByName());
  const paths = new Set(known.map(({ path }) => path));
  const others = [...links.keys()]
    .filter((path) => !paths.has(path))
    .map((path) => ({ path, description: 'serial port' }));
  return [...known, ...others]
    .map((port) => ({ ...port, stablePath: links.get(port.path) ?? null }))
    .toSorted((left, right) => left.path.localeCompare(right.path, 'en', { numeric: true }));
}
