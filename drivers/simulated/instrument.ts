/**
 * Puts a simulated bench supply together: cell, power stage, meters, command language, line,
 * faults.
 */

import { Cell, defaultCell } from './cell.ts';
import { FaultSwitches } from './faults.ts';
import { Journal } from './journal.ts';
import { channelListCommands, channelListRules } from './language/channel-list-commands.ts';
import { refreshChannelListStatus } from './language/channel-list-commands.ts';
import { FixedLengthSpeaker } from './language/fixed-length.ts';
import { ScpiSpeaker } from './language/scpi-speaker.ts';
import type { Speaker } from './language/speaker.ts';
import { refreshSubsystemStatus } from './language/subsystem-commands.ts';
import { subsystemCommands, subsystemRules } from './language/subsystem-commands.ts';
import { VsetIsetSpeaker } from './language/vset-iset.ts';
import { Line } from './line.ts';
import { Meter } from './meter.ts';
import { type CellOptions, type Instrument, type InstrumentOptions } from './model.ts';
import { type Glance, type Personality, personalities, type Truth } from './model.ts';
import { type SupplyModel, supplyModels } from './models.ts';
import { createRandomStream } from './random.ts';
import { Supply } from './supply.ts';

/**
 * An instrument with its faults in reach and its truth open; the driver only ever sees the bytes.
 */
export interface SimulatedInstrument extends Instrument {
  readonly personality: Personality;
  readonly faults: FaultSwitches;
  /**
   * Hangs another piece in the bath; what is not given stays as it was built. Throws a RangeError for
   * a value out of bounds and while the output is on.
   */
  hang(piece: Partial<CellOptions>, nowMs: number): void;
  /** What is really so at `nowMs`. For tests only. */
  truth(nowMs: number): Truth;
  /** A small part of the truth. */
  glance(nowMs: number): Glance;
}

const terminators: Readonly<Record<Personality, string>> = {
  'scpi-subsystem': '\n',
  'scpi-channel-list': '\r\n',
  'vset-iset': '\r\n',
  'fixed-length': '',
};

function bounded(field: string, value: number, min: number, max: number): number {
  if (value >= min && value <= max) return value;
  throw new RangeError(`${field} is ${value}; it must be from ${min} to ${max}`);
}

function choice<Value extends string>(field: string, value: Value, all: readonly Value[]): Value {
  if (all.includes(value)) return value;
  throw new RangeError(`${field} is ${JSON.stringify(value)}; it must be one of ${all.join(', ')}`);
}

/** Leaves out what is undefined, so that a default stands. */
function given<Options extends object>(options: Options | undefined): Partial<Options> {
  const kept: Partial<Options> = { ...options };
  for (const key in kept) if (kept[key] === undefined) delete kept[key];
  return kept;
}

function checkedCell(options: Partial<CellOptions> | undefined): CellOptions {
  const cell = { ...defaultCell, ...given(options) };
  bounded('cell.areaDm2', cell.areaDm2, 1e-4, 100);
  bounded('cell.anodeAreaDm2', cell.anodeAreaDm2, 1e-4, 1000);
  bounded('cell.bathSiemensPerMetre', cell.bathSiemensPerMetre, 0.01, 1000);
  bounded('cell.distanceMm', cell.distanceMm, 0.1, 10_000);
  bounded('cell.leadsOhms', cell.leadsOhms, 0, 1000);
  bounded('cell.contactOhms', cell.contactOhms, 0, 1000);
  bounded('cell.exchangeAmpsPerDm2', cell.exchangeAmpsPerDm2, 1e-6, 100);
  bounded('cell.cathodicTransfer', cell.cathodicTransfer, 0.05, 3);
  bounded('cell.anodicTransfer', cell.anodicTransfer, 0.05, 3);
  bounded('cell.temperatureKelvin', cell.temperatureKelvin, 250, 400);
  bounded('cell.pathMm', cell.pathMm, 0.1, 10_000);
  bounded('cell.growthDm2PerAmpHour', cell.growthDm2PerAmpHour, 0, 100);
  choice('cell.geometry', cell.geometry, ['plates', 'ball']);
  choice('cell.paint', cell.paint, ['silver', 'copper', 'graphite', 'none']);
  return cell;
}

function checkedModel(options: InstrumentOptions): SupplyModel {
  choice('personality', options.personality, personalities);
  const model = { ...supplyModels[options.personality], ...given(options.limits) };
  bounded('limits.maxVolts', model.maxVolts, 0.1, 10_000);
  bounded('limits.maxAmps', model.maxAmps, 0.01, 10_000);
  bounded('limits.stepVolts', model.stepVolts, 1e-6, 1);
  bounded('limits.stepAmps', model.stepAmps, 1e-6, 1);
  return {
    ...model,
    startVolts: Math.min(model.startVolts, model.maxVolts),
    startAmps: Math.min(model.startAmps, model.maxAmps),
    latencyMs: bounded('latencyMs', options.latencyMs ?? model.latencyMs, 0, 60_000),
  };
}

function createMeter(
  options: InstrumentOptions,
  model: SupplyModel,
  seed: number,
  faults: FaultSwitches,
): Meter {
  const meter = {
    noiseVolts: model.stepVolts * 0.4,
    noiseAmps: model.stepAmps * 0.4,
    stepVolts: model.stepVolts,
    stepAmps: model.stepAmps,
    ...given(options.meter),
  };
  bounded('meter.noiseVolts', meter.noiseVolts, 0, 1000);
  bounded('meter.noiseAmps', meter.noiseAmps, 0, 1000);
  bounded('meter.stepVolts', meter.stepVolts, 1e-9, 10);
  bounded('meter.stepAmps', meter.stepAmps, 1e-9, 10);
  return new Meter(meter, createRandomStream(seed, 'meter'), faults);
}

const speakers: Readonly<Record<Personality, (supply: Supply, line: Line) => Speaker>> = {
  'scpi-subsystem': (supply, line) =>
    new ScpiSpeaker(supply, line, {
      rules: subsystemRules,
      commands: subsystemCommands,
      refresh: refreshSubsystemStatus,
    }),
  'scpi-channel-list': (supply, line) =>
    new ScpiSpeaker(supply, line, {
      rules: channelListRules,
      commands: channelListCommands,
      refresh: refreshChannelListStatus,
    }),
  'vset-iset': (supply, line) => new VsetIsetSpeaker(supply, line),
  'fixed-length': (supply, line) => new FixedLengthSpeaker(supply, line),
};

class BenchSupply implements SimulatedInstrument {
  readonly personality: Personality;
  readonly faults: FaultSwitches;
  readonly #supply: Supply;
  readonly #line: Line;
  readonly #speaker: Speaker;
  readonly #cellOptions: Partial<CellOptions> | undefined;
  #latestMs: number;
  #deafUntilMs = Number.NEGATIVE_INFINITY;

  constructor(options: InstrumentOptions) {
    const model = checkedModel(options);
    const seed = bounded('seed', options.seed ?? 1, 0, 4_294_967_295);
    const bornMs = bounded('bornMs', options.bornMs ?? 0, -1e15, 1e15);
    this.personality = options.personality;
    this.#cellOptions = options.cell;
    this.#latestMs = bornMs;
    this.faults = new FaultSwitches(() => this.#latestMs);
    this.#line = new Line(this.faults, createRandomStream(seed, 'line'), {
      latencyMs: model.latencyMs,
      terminator: terminators[options.personality],
    });
    this.#supply = new Supply({
      model,
      cell: new Cell(checkedCell(options.cell)),
      meter: createMeter(options, model, seed, this.faults),
      faults: this.faults,
      journal: new Journal(options.witness),
      bornMs,
      settlingMs: bounded('settlingMs', options.settlingMs ?? 25, 0.1, 60_000),
      restartKeepsOutput: options.restartKeepsOutput ?? false,
    });
    this.#speaker = speakers[options.personality](this.#supply, this.#line);
    this.#supply.onRestart = (nowMs, bootMs) => {
      this.#line.clear();
      this.#speaker.restart();
      this.#deafUntilMs = nowMs + bootMs;
    };
  }

  receive(bytes: string, nowMs: number): void {
    const atMs = this.#reach(nowMs);
    if (atMs < this.#deafUntilMs) return;
    if (this.faults.has('echo')) this.#line.echo(bytes, atMs);
    if (this.faults.get('mute')?.deaf === true) return;
    this.#speaker.receive(bytes, atMs);
  }

  nextDueMs(): number | null {
    return this.#line.nextDueMs();
  }

  take(nowMs: number): string {
    return this.#line.take(this.#reach(nowMs));
  }

  hang(piece: Partial<CellOptions>, nowMs: number): void {
    const cell = new Cell(checkedCell({ ...this.#cellOptions, ...given(piece) }));
    this.#supply.hang(cell, this.#reach(nowMs));
  }

  glance(nowMs: number): Glance {
    return this.#supply.glance(this.#reach(nowMs));
  }

  truth(nowMs: number): Truth {
    return this.#supply.truth(this.#reach(nowMs));
  }

  /** Time never goes back inside the instrument, whatever the caller's clock does. */
  #reach(nowMs: number): number {
    this.#latestMs = Math.max(this.#latestMs, nowMs);
    this.#speaker.settle(this.#latestMs);
    return this.#latestMs;
  }
}

/**
 * Builds a simulated bench supply. Throws a RangeError that names the option, its value and its
 * bound when an option is not valid. The same options and the same calls give the same bytes.
 */
export function createInstrument(options: InstrumentOptions): SimulatedInstrument {
  return new BenchSupply(options);
}
