/** What every rectifier driver offers: typed readings, typed errors, and an OFF that always goes first. */

/** How the supply regulates right now; `unknown` where the dialect cannot tell or the numbers disagree. */
export type Regulation = 'constantCurrent' | 'constantVoltage' | 'unregulated' | 'off' | 'unknown';

/** A protection inside the supply that has switched its output off. */
export type SupplyTrip = 'overVoltage' | 'overCurrent' | 'overPower' | 'overTemperature';

/** Who the supply says it is; a field it does not tell is an empty string. */
export interface RectifierIdentity {
  readonly maker: string;
  readonly model: string;
  readonly serial: string;
  readonly firmware: string;
  /** The reply as it came, trimmed. */
  readonly text: string;
}

/** What the supply can be set to. Steps are the resolution of a set-point. */
export interface RectifierRange {
  readonly minVolts: number;
  readonly maxVolts: number;
  readonly stepVolts: number;
  readonly minAmps: number;
  readonly maxAmps: number;
  readonly stepAmps: number;
}

/** What this dialect can and cannot do; shown to the maker when a run is armed. */
export interface RectifierCapabilities {
  readonly setPointReadback: boolean;
  readonly outputReadback: boolean;
  /** A level can be given and then acts: by itself, or because its protection is switched on too. */
  readonly overVoltageLevel: boolean;
  readonly overCurrentLevel: boolean;
  /** The protection is switched on with its level, and that is read back. */
  readonly overVoltageReadsOn: boolean;
  readonly overCurrentReadsOn: boolean;
  readonly regulation: boolean;
  readonly supplyTrips: boolean;
  readonly errorQueue: boolean;
  readonly powerOnFlag: boolean;
  readonly beep: boolean;
  /** A measured current below this counts as none, A. */
  readonly offAmps: number;
  /** Shortest cycle this dialect can be polled at, ms. */
  readonly minimumCycleMs: number;
}

/** One judged look at the supply. Values are finite or the reading does not exist. */
export interface RectifierReading {
  readonly volts: number;
  readonly amps: number;
  /** null where the dialect has no output query. */
  readonly outputOn: boolean | null;
  readonly regulation: Regulation;
  readonly supplyTrips: readonly SupplyTrip[];
  /** Set-points as read back in this cycle; null where not read in this cycle. */
  readonly setVolts: number | null;
  readonly setAmps: number | null;
  /** True when the supply says that it has been switched on since it was last asked. */
  readonly restarted: boolean;
}

/**
 * Set-points and protections to program; a protection that is not given is left alone, one whose
 * level the supply cannot be given (see the capabilities) is refused as `unsupported`. One that acts
 * only while it is switched on is switched on once its level stands.
 */
export interface SetPoints {
  readonly volts: number;
  readonly amps: number;
  readonly overVoltageVolts?: number;
  readonly overCurrentAmps?: number;
  /**
   * Resets protections that have latched first. Only for an output that is off, by whoever has told
   * a person of the trip; ON never does so by itself.
   */
  readonly resetTrips?: boolean;
}

/** What the supply read back after programming; null where it cannot be read back. */
export interface ProgrammedSetPoints {
  readonly volts: number | null;
  readonly amps: number | null;
  readonly overVoltageVolts: number | null;
  readonly overCurrentAmps: number | null;
}

/** What was found when the link came up. Nothing is changed on the supply by connecting. */
export interface ConnectionReport {
  readonly identity: RectifierIdentity;
  readonly range: RectifierRange;
  readonly outputOn: boolean | null;
  readonly volts: number;
  readonly amps: number;
  readonly setVolts: number | null;
  readonly setAmps: number | null;
  readonly restarted: boolean;
  /** Errors that stood in the supply's own queue, oldest first; read and emptied. */
  readonly standingErrors: readonly string[];
}

/** The result of an OFF: believed only when `confirmed`. */
export interface OffReport {
  readonly confirmed: boolean;
  readonly outputOn: boolean | null;
  /** What was found to flow at the last look, A; null where there was none. */
  readonly amps: number | null;
  /**
   * The most that two looks in a row have reached since OFF was asked for, A: one digit may be wrong. Null where
   * there were no two; left out where nobody counts, and `amps` stands for it.
   */
  readonly highestAmps?: number | null;
  /** Why it is not confirmed, as a sentence; empty when it is. */
  readonly reason: string;
}

/** The bytes with which another process can switch this supply off without the driver. */
export interface OffScript {
  /** A device path, or `tcp://host:port`; null for an in-process supply. */
  readonly path: string | null;
  readonly baudRate: number | null;
  /** Leading terminator and OFF command, latin1. */
  readonly off: string;
  /** A query whose reply tells the output state, latin1; null where the dialect has none. */
  readonly verifyQuery: string | null;
  /** A regular expression that the reply matches when the output is off. */
  readonly verifyOffPattern: string | null;
  /** Who answered there last: a question, latin1, and the reply to it; left out while not known. */
  readonly identity?: {
    readonly query: string;
    readonly reply: string;
    /** A regular expression that any identity fits; what does not fit names nobody. */
    readonly pattern?: string | undefined;
    /** How long the reply may take, ms. */
    readonly timeoutMs?: number | undefined;
  };
}

/** Counts since the driver was made; a rising one means a bad cable, noise or a wrong rate. */
interface RectifierHealth {
  readonly timeouts: number;
  readonly garbled: number;
  readonly resyncs: number;
}

/**
 * A bench supply. One request is in flight at a time; every call has a deadline and ends in a value
 * or a `RectifierError`. `off` overtakes whatever is in flight, may be called at any moment and
 * any number of times, and never throws: it reports.
 */
export interface Rectifier {
  readonly description: string;
  readonly simulated: boolean;
  readonly capabilities: RectifierCapabilities;
  readonly range: RectifierRange;
  readonly isConnected: boolean;
  readonly health: RectifierHealth;
  readonly offScript: OffScript;
  /** Opens a new link, lets it settle, discards what stood there, and identifies the supply. */
  connect(): Promise<ConnectionReport>;
  /**
   * One poll: measured values, output state, regulation, trips and, when due, set-points; with `whole`
   * they are due.
   */
  read(options?: { readonly whole?: boolean }): Promise<RectifierReading>;
  /**
   * Rounds to the supply's step, refuses what is out of range before any byte, sends, reads back. A
   * protection that reads back as switched off is a `readbackMismatch`, as a level that did not take.
   */
  program(setPoints: SetPoints): Promise<ProgrammedSetPoints>;
  /**
   * Switches the output on and reads that back. Never repeated blindly. Tells when ON had been
   * handed to the line, on the driver's clock, ms: the charge counts from there.
   */
  on(): Promise<{ readonly sentAtMs: number }>;
  off(): Promise<OffReport>;
  beep(): Promise<void>;
  close(): Promise<void>;
}

/** Time as the drivers see it; a simulated supply in this process brings a virtual one. */
export interface DriverClock {
  /** Monotonic milliseconds. */
  nowMs(): number;
  sleep(durationMs: number): Promise<void>;
}

export type RectifierErrorKind =
  | 'notOpen'
  | 'cannotOpen'
  | 'locked'
  | 'closed'
  | 'timeout'
  | 'garbled'
  | 'overflow'
  | 'refused'
  | 'readbackMismatch'
  | 'outOfRange'
  | 'wrongDevice'
  | 'preempted'
  | 'unsupported';

/** Every failure of a driver; `kind` is for code, the message is for a person. */
export class RectifierError extends Error {
  override readonly name = 'RectifierError';
  readonly kind: RectifierErrorKind;

  constructor(kind: RectifierErrorKind, message: string, options?: ErrorOptions) {
    super(message, options);
    this.kind = kind;
  }
}

/** A supply that whoever asked does not want to touch; nothing but its name was asked of it. */
export class RefusedSupplyError extends RectifierError {
  constructor(message: string) {
    super('wrongDevice', message);
  }
}
