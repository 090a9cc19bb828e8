/** The faults of the simulated supply: their names, their parameters and their bounds, as data. */

import * as z from 'zod';

const none = z.strictObject({});
const probability = z.number().min(0).max(1);
const volts = z.number().min(0).max(1000);
const amps = z.number().min(0).max(1000);
const line = z
  .string()
  .max(200)
  .refine((text) => !/[\r\n]/u.test(text), 'must be one line');

/** Parameters by fault, each with a default, so that a fault can be switched on by name alone. */
const schemas = {
  /**
   * The current loop fails: current runs to `factor` times the set-point, meter and truth alike.
   */
  overCurrent: z.strictObject({ factor: z.number().min(1).max(100).default(1.5) }),
  /** The voltage loop fails: voltage runs `excessVolts` above the set-point, current unlimited. */
  overVoltage: z.strictObject({ excessVolts: volts.default(2) }),
  /** Something lies across the cell. */
  shortCircuit: z.strictObject({ ohms: z.number().min(1e-4).max(100).default(0.005) }),
  /** A lead is off. */
  openCircuit: none,
  /** The contact has gone bad. */
  contactResistance: z.strictObject({ ohms: z.number().min(0).max(1e6).default(3) }),
  /** A film grows on the anode while current flows. */
  anodeFilm: z.strictObject({ ohmsPerHour: z.number().min(0).max(1000).default(1) }),
  /** The cell pushes back. */
  reverseEmf: z.strictObject({ volts: volts.default(0.5) }),

  /** At once: set-points changed by hand; what is not given stays. */
  knob: z.strictObject({ volts: volts.optional(), amps: amps.optional() }),
  /** At once: the output key pressed; without `on` it toggles. */
  outputKey: z.strictObject({ on: z.boolean().optional() }),
  /**
   * At once: the supply restarts, deaf for `bootMs`; `keepsOutput` null asks the instrument's
   * option.
   */
  restart: z.strictObject({
    keepsOutput: z.boolean().nullable().default(null),
    bootMs: z.number().min(0).max(60_000).default(300),
  }),

  /** The command is understood and nothing happens. */
  ignoresOff: none,
  ignoresOn: none,
  ignoresSet: none,
  /** The relay has welded: OFF is obeyed in words and in status, the current flows on. */
  saysOff: z.strictObject({
    /** The meters deny the current too. */
    meterToo: z.boolean().default(false),
  }),

  /** The meters stand still at what they showed last. */
  stuckReading: none,
  /** The meters answer this instead of a number. */
  badReading: z.strictObject({ text: line.default('9.9E37') }),
  /** The ammeter shows another current than flows, by a share of the true one. */
  meterError: z.strictObject({ ampsShare: z.number().min(-0.5).max(0.5).default(-0.03) }),
  /** The meters drift away from the truth, share of the reading per hour. */
  driftingMeter: z.strictObject({
    ampsSharePerHour: z.number().min(-100).max(100).default(0.05),
    voltsSharePerHour: z.number().min(-100).max(100).default(0),
  }),

  /** No reply to anything; `deaf` does not obey either. */
  mute: z.strictObject({ deaf: z.boolean().default(false) }),
  dropReplies: z.strictObject({ probability: probability.default(0.25) }),
  garble: z.strictObject({ probability: probability.default(1) }),
  splitReplies: z.strictObject({ gapMs: z.number().min(0).max(60_000).default(30) }),
  doubleReplies: none,
  echo: none,
  /**
   * A line nobody asked for: once now, then every `everyMs` (0 is never), or inside the next
   * reply.
   */
  unsolicited: z.strictObject({
    text: line.default('**ERROR: -113,"Undefined header"'),
    everyMs: z.number().min(0).max(3.6e6).default(0),
    insideReply: z.boolean().default(false),
  }),
  /** Characters without end and without a terminator. */
  endlessLine: z.strictObject({ bytesPerSecond: z.number().min(1).max(1e7).default(960) }),
  /** Each reply comes only when the next query has been asked. */
  lateReplies: none,
  slow: z.strictObject({ extraMs: z.number().min(0).max(600_000).default(1500) }),
  wrongIdentity: z.strictObject({
    text: line.default('NIGHTBATH,SIM-OTHER,SIM9999,1.0'),
  }),
} as const;

type Schemas = typeof schemas;
export type FaultName = keyof Schemas;
export type FaultParameters<Name extends FaultName> = z.output<Schemas[Name]>;
export type FaultInput<Name extends FaultName> = z.input<Schemas[Name]>;

/** The same schemas, told to the compiler so that a name keeps its own parameters. */
const checks: { readonly [Name in FaultName]: z.ZodType<FaultParameters<Name>> } = schemas;

export function isFaultName(name: string): name is FaultName {
  return Object.hasOwn(schemas, name);
}
export const faultNames: readonly FaultName[] = Object.keys(schemas).filter(isFaultName);
/** Faults that happen once and leave nothing switched on. */
const momentary: ReadonlySet<FaultName> = new Set(['knob', 'outputKey', 'restart']);

/** Checks parameters; throws a RangeError that names the fault, the parameter and its bound. */
function checked<Name extends FaultName>(name: Name, input: unknown): FaultParameters<Name> {
  const parsed = checks[name].safeParse(input ?? {});
  if (parsed.success) return parsed.data;
  const issue = parsed.error.issues[0];
  const where = [name, ...(issue?.path ?? [])].join('.');
  throw new RangeError(`fault ${where}: ${issue?.message ?? 'not valid'}`);
}

/** Told that a fault has been switched on, made to happen, or switched off. */
export type FaultListener = (name: FaultName, on: boolean, nowMs: number) => void;

/**
 * Switches faults, one at a time or several; each change is told to the parts it touches at once.
 */
export class FaultSwitches {
  readonly #active: { [Name in FaultName]?: FaultParameters<Name> } = {};
  readonly #latestMs: () => number;
  readonly #listeners: FaultListener[] = [];

  constructor(latestMs: () => number) {
    this.#latestMs = latestMs;
  }

  /**
   * Tells `listener` about every change from now on; `get` holds the parameters while it is told.
   */
  listen(listener: FaultListener): void {
    this.#listeners.push(listener);
  }

  /**
   * Switches a fault on, or makes a momentary one happen. `nowMs` defaults to the latest time that
   * the instrument has seen. Throws a RangeError for a parameter out of its bounds.
   */
  set<Name extends FaultName>(name: Name, input?: FaultInput<Name>, nowMs?: number): void {
    this.setUnchecked(name, input, nowMs);
  }

  /** As `set`, for parameters that came from outside and are of no known type yet. */
  setUnchecked(name: FaultName, input: unknown, nowMs?: number): void {
    Object.assign(this.#active, { [name]: checked(name, input) });
    this.#tell(name, true, nowMs);
    if (momentary.has(name)) delete this.#active[name];
  }

  clear(name: FaultName, nowMs?: number): void {
    if (!this.has(name)) return;
    delete this.#active[name];
    this.#tell(name, false, nowMs);
  }

  clearAll(nowMs?: number): void {
    for (const name of this.active()) this.clear(name, nowMs);
  }

  /** The parameters of a fault that is on, or undefined. */
  get<Name extends FaultName>(name: Name): FaultParameters<Name> | undefined {
    return this.#active[name];
  }

  has(name: FaultName): boolean {
    return this.#active[name] !== undefined;
  }

  active(): FaultName[] {
    return faultNames.filter((name) => this.has(name));
  }

  #tell(name: FaultName, on: boolean, nowMs: number | undefined): void {
    const atMs = nowMs ?? this.#latestMs();
    for (const listener of this.#listeners) listener(name, on, atMs);
  }
}
