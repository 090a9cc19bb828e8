/** A supply whose ammeter is corrected by a factor: everybody above it sees and asks for true amperes. */

import type {
  ConnectionReport,
  OffReport,
  OffScript,
  ProgrammedSetPoints,
  Rectifier,
  RectifierCapabilities,
  RectifierRange,
  RectifierReading,
  SetPoints,
} from './contract.ts';

/**
 * The supply with its currents multiplied by `factor`, true over shown, on their way up, and divided by
 * it on their way down. A supply holds the current by the same shunt by which it shows it.
 */
export function withAmmeterFactor(supply: Rectifier, factor: number): Rectifier {
  return factor === 1 ? supply : new CorrectedRectifier(supply, factor);
}

class CorrectedRectifier implements Rectifier {
  readonly #supply: Rectifier;
  readonly #factor: number;

  constructor(supply: Rectifier, factor: number) {
    this.#supply = supply;
    this.#factor = factor;
  }

  get description(): string {
    return this.#supply.description;
  }

  get simulated(): boolean {
    return this.#supply.simulated;
  }

  get capabilities(): RectifierCapabilities {
    const { capabilities } = this.#supply;
    return { ...capabilities, offAmps: this.#true(capabilities.offAmps) };
  }

  get range(): RectifierRange {
    return this.#trueRange(this.#supply.range);
  }

  get isConnected(): boolean {
    return this.#supply.isConnected;
  }

  get health(): Rectifier['health'] {
    return this.#supply.health;
  }

  get offScript(): OffScript {
    return this.#supply.offScript;
  }

  async connect(): Promise<ConnectionReport> {
    const report = await this.#supply.connect();
    return {
      ...report,
      range: this.#trueRange(report.range),
      amps: this.#true(report.amps),
      setAmps: this.#trueOrNull(report.setAmps),
    };
  }

  async read(options?: { readonly whole?: boolean }): Promise<RectifierReading> {
    const reading = await this.#supply.read(options);
    const { amps, setAmps } = reading;
    return { ...reading, amps: this.#true(amps), setAmps: this.#trueOrNull(setAmps) };
  }

  async program(wanted: SetPoints): Promise<ProgrammedSetPoints> {
    const { overCurrentAmps } = wanted;
    const set = await this.#supply.program({
      ...wanted,
      amps: wanted.amps / this.#factor,
      ...(overCurrentAmps !== undefined && { overCurrentAmps: overCurrentAmps / this.#factor }),
    });
    return {
      ...set,
      amps: this.#trueOrNull(set.amps),
      overCurrentAmps: this.#trueOrNull(set.overCurrentAmps),
    };
  }

  on(): Promise<{ readonly sentAtMs: number }> {
    return this.#supply.on();
  }

  async off(): Promise<OffReport> {
    const report = await this.#supply.off();
    const { amps, highestAmps } = report;
    return {
      ...report,
      amps: this.#trueOrNull(amps),
      ...(highestAmps !== undefined && { highestAmps: this.#trueOrNull(highestAmps) }),
    };
  }

  beep(): Promise<void> {
    return this.#supply.beep();
  }

  close(): Promise<void> {
    return this.#supply.close();
  }

  #true(amps: number): number {
    return amps * this.#factor;
  }

  #trueOrNull(amps: number | null): number | null {
    return amps === null ? null : this.#true(amps);
  }

  #trueRange(range: RectifierRange): RectifierRange {
    return {
      ...range,
      minAmps: this.#true(range.minAmps),
      maxAmps: this.#true(range.maxAmps),
      stepAmps: this.#true(range.stepAmps),
    };
  }
}
