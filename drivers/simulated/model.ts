/**
 * The words of the simulated bench supply: what it can be, how it is built, and what is true of
 * it.
 */

export const personalities = [
  'scpi-subsystem',
  'scpi-channel-list',
  'vset-iset',
  'fixed-length',
] as const;

/** Which command language the supply speaks. */
export type Personality = (typeof personalities)[number];

/**
 * Bytes in, bytes out, and the time as an argument. Bytes are latin1: one character is one byte.
 */
export interface Instrument {
  /** Takes what arrived on the line at `nowMs`. */
  receive(bytes: string, nowMs: number): void;
  /** When there will next be something to take, ms; null while nothing is due. */
  nextDueMs(): number | null;
  /** Bytes that the supply has sent up to `nowMs`; empty when there are none. */
  take(nowMs: number): string;
}

/** Conductive layer under the metal; decides how the piece covers. */
export type SimulatedPaint = 'silver' | 'copper' | 'graphite' | 'none';

export interface CellOptions {
  /** Area of the piece once it is covered, dm2. */
  readonly areaDm2: number;
  /** Area of the anode that faces the bath, dm2. */
  readonly anodeAreaDm2: number;
  /** Conductivity of the bath, S/m. */
  readonly bathSiemensPerMetre: number;
  /**
   * Two facing plates of the piece's area, or a ball of the piece's area with the anode around it.
   */
  readonly geometry: 'plates' | 'ball';
  /** From the piece to the anode, mm. */
  readonly distanceMm: number;
  /** Both leads together, ohms. */
  readonly leadsOhms: number;
  /** Where the piece hangs on its wire, ohms. */
  readonly contactOhms: number;
  /** Exchange current density, A/dm2, both electrodes. */
  readonly exchangeAmpsPerDm2: number;
  /** Cathodic transfer coefficient, per elementary charge. */
  readonly cathodicTransfer: number;
  /** Anodic transfer coefficient, per elementary charge. */
  readonly anodicTransfer: number;
  readonly temperatureKelvin: number;
  readonly paint: SimulatedPaint;
  /** Longest way over the paint from the contact, mm. */
  readonly pathMm: number;
  /** How much the covered piece grows per ampere-hour, dm2; 0 keeps the area. */
  readonly growthDm2PerAmpHour: number;
}

export interface MeterOptions {
  /** Standard deviation of one reading, V. */
  readonly noiseVolts: number;
  /** Standard deviation of one reading, A. */
  readonly noiseAmps: number;
  /** Resolution of the read-back, V. */
  readonly stepVolts: number;
  /** Resolution of the read-back, A. */
  readonly stepAmps: number;
}

export interface SupplyLimits {
  readonly maxVolts: number;
  readonly maxAmps: number;
  readonly stepVolts: number;
  readonly stepAmps: number;
}

/** Told of what happens to the supply, at the moment it happens; for tests only. */
export interface SupplyWitness {
  /** ON or OFF was understood, obeyed or not. */
  switched(on: boolean, atMs: number): void;
  /** Current can flow from now on, or no more. */
  output(change: OutputChange): void;
  /** A whole command arrived that was not only a query. */
  told(text: string, atMs: number): void;
}

export interface InstrumentOptions {
  readonly personality: Personality;
  readonly cell?: Partial<CellOptions> | undefined;
  /** Same seed, same commands, same times: same bytes. 0 to 2^32 - 1; default 1. */
  readonly seed?: number | undefined;
  /** When it was switched on, on the caller's monotonic clock, ms; default 0. */
  readonly bornMs?: number | undefined;
  /** From the end of a command to its reply, ms. */
  readonly latencyMs?: number | undefined;
  readonly meter?: Partial<MeterOptions> | undefined;
  readonly limits?: Partial<SupplyLimits> | undefined;
  /** Time constant with which the output follows a new set-point, ms; default 25. */
  readonly settlingMs?: number | undefined;
  /** A restart keeps output and set-points instead of coming up with the output off. */
  readonly restartKeepsOutput?: boolean | undefined;
  readonly witness?: SupplyWitness | undefined;
}

/** What the output regulates on. */
export type StageRegulation = 'constantCurrent' | 'constantVoltage' | 'off';

export type Trip = 'overVoltage' | 'overCurrent';

export interface ReceivedCommand {
  readonly atMs: number;
  readonly text: string;
}

export interface OutputChange {
  readonly atMs: number;
  readonly on: boolean;
  readonly cause: 'command' | 'trip' | 'panel' | 'restart' | 'reset';
}

/** The part of the truth that is cheap enough to be looked at several times a second. */
export type Glance = Pick<
  Truth,
  | 'amps'
  | 'cellAmps'
  | 'volts'
  | 'chargeCoulombs'
  | 'cellChargeCoulombs'
  | 'outputOn'
  | 'setVolts'
  | 'setAmps'
  | 'tripVolts'
  | 'tripAmps'
>;

/** What is really so, whatever the supply says. For tests only: no driver may read it. */
export interface Truth {
  readonly nowMs: number;
  /** Current through the terminals, A. */
  readonly amps: number;
  /** Current through the bath; less than `amps` when something shorts the cell, A. */
  readonly cellAmps: number;
  /** Voltage at the terminals, V. */
  readonly volts: number;
  /** Charge through the terminals since birth, C. */
  readonly chargeCoulombs: number;
  /** Charge through the bath since birth, C. */
  readonly cellChargeCoulombs: number;
  readonly regulation: StageRegulation;
  readonly outputOn: boolean;
  readonly setVolts: number;
  readonly setAmps: number;
  readonly overVoltageVolts: number;
  readonly overCurrentAmps: number;
  readonly overVoltageEnabled: boolean;
  readonly overCurrentEnabled: boolean;
  /** Voltage above which the supply switches off by itself, V; null while it would not. */
  readonly tripVolts: number | null;
  /** Current above which it does so, A; null while it would not, or only at its set current. */
  readonly tripAmps: number | null;
  /** Protections that have tripped and are not cleared yet. */
  readonly trips: readonly Trip[];
  /** The last commands as they came, oldest first, at most `keptCommands`. */
  readonly received: readonly ReceivedCommand[];
  /** The last commands that were not only queries, oldest first, at most `keptCommands`. */
  readonly receivedSets: readonly ReceivedCommand[];
  readonly receivedCount: number;
  /** OFF commands understood, obeyed or not. */
  readonly offsReceived: number;
  readonly lastOffMs: number | null;
  readonly onsReceived: number;
  /** Highest set-points ever accepted over the line. */
  readonly highestSetVolts: number;
  readonly highestSetAmps: number;
  readonly outputChanges: readonly OutputChange[];
  readonly restarts: number;
  /** Covered share of the paint, 0 to 1. */
  readonly coveredFraction: number;
  /** Area that takes metal now, dm2. */
  readonly effectiveAreaDm2: number;
  /** Area of the whole piece now, dm2. */
  readonly areaDm2: number;
  /** Faults that are switched on now. */
  readonly faults: readonly string[];
}

/** How many commands and output changes the truth remembers. */
export const keptCommands = 2000;
