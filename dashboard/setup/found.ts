/** What the bring-up has found so far: the place, the dialects that were tried, the limits, the set-points. */

import type { SetStep, TriedDialect } from '../../daemon/wire/bring-up.ts';
import { numberFrom } from '../piece/typed.ts';

export type SupplyLink =
  | { readonly kind: 'serial'; readonly path: string; readonly baudRate: number | null }
  | { readonly kind: 'tcp'; readonly host: string; readonly port: number };

export type Fit = Extract<TriedDialect, { fits: true }>;

/** A device path, COM and a number, or tcp://address:port; null for anything else. */
export function linkFrom(place: string, baud: string): SupplyLink | null {
  const plain = place.trim();
  const network = /^tcp:\/\/([^:/\s]+|\[[0-9a-f:]+\]):(\d{1,5})$/i.exec(plain);
  if (network !== null) {
    const port = Number(network[2]);
    const host = (network[1] ?? '').replace(/^\[|\]$/g, '');
    return port >= 1 && port <= 65_535 ? { kind: 'tcp', host, port } : null;
  }
  if (!/^(?:\/\S+|(?:\\\\\.\\)?COM[1-9]\d{0,2})$/i.test(plain)) return null;
  const rate = baud.trim() === '' ? null : numberFrom(baud);
  if (rate !== null && !(Number.isInteger(rate) && rate >= 300 && rate <= 4_000_000)) return null;
  return { kind: 'serial', path: plain, baudRate: rate };
}

/** The link as the settings have it, without what is left to the dialect. */
export function linkEntry(link: SupplyLink): Record<string, unknown> {
  if (link.kind === 'tcp') return { ...link };
  const { kind, path, baudRate } = link;
  return { kind, path, ...(baudRate !== null && { baudRate }) };
}

/** A limit above 0 and up to the most; NaN where it is not. */
export function limitFrom(text: string, most: number): number {
  const value = numberFrom(text);
  return value > 0 && value <= most ? value : Number.NaN;
}

/** What the true current is of what the supply shows: the reading of a trusted meter over its own. */
export function factorOf(meterAmps: number, shownAmps: number, present: number): number {
  // What is shown is corrected already by the factor that is in use.
  return (meterAmps / shownAmps) * present;
}

/** How far the bring-up of one supply is. */
export class FoundSupply {
  place = '';
  other = '';
  baud = '';
  trying = '';
  tried: readonly TriedDialect[] = [];
  chosen = '';
  amps = '';
  volts = '';
  steps: readonly SetStep[] = [];

  get link(): SupplyLink | null {
    return linkFrom(this.place === 'other' ? this.other : this.place, this.baud);
  }

  get fits(): readonly Fit[] {
    return this.tried.filter((one): one is Fit => one.fits);
  }

  get fit(): Fit | null {
    const { fits } = this;
    // Another dialect may fit too: as long as they are being tried, none is the one.
    if (this.trying !== '') return null;
    return (
      fits.find(({ dialect }) => dialect === this.chosen) ??
      (fits.length === 1 ? (fits[0] ?? null) : null)
    );
  }

  get maxAmps(): number {
    return limitFrom(this.amps, this.fit?.maxAmps ?? 0);
  }

  get maxVolts(): number {
    return limitFrom(this.volts, Math.min(60, this.fit?.maxVolts ?? 0));
  }

  get isSet(): boolean {
    return this.steps.length > 0 && this.steps.every(({ state }) => state === 'ok');
  }

  /** How many steps are behind: the first of the list that is not done is the one to do. */
  get done(): number {
    const { fit, link } = this;
    const reached = [
      link !== null,
      fit !== null && fit.outputOn !== true,
      this.maxAmps > 0 && this.maxVolts > 0,
      this.isSet,
    ];
    const open = reached.indexOf(false);
    return open < 0 ? reached.length : open;
  }

  /** Another place is another supply. */
  moved(): void {
    [this.tried, this.steps, this.chosen] = [[], [], ''];
  }
}
