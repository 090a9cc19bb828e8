/** What voltage a cell is likely to show: a crude model, good to plus or minus half. */

import type { Bath, MetalId } from '../chemistry/model.ts';
import { mm2PerDm2 } from './stages.ts';

/** Half the width of the model's range, as a share of its value. */
export const cellVoltsShare = 0.5;

/** RT/F at 25 C, V; from R, T and F. */
const thermalVolts = 0.025_693;
const cathodeTransfer = 0.5;
const anodeTransfer = 1.5;
/**
 * Exchange current densities, A/dm2. Copper in acid sulfate: 1 mA/cm2 with transfer coefficients
 * 0.5 and 1.5 (Mattsson and Bockris 1959; Newman, Electrochemical Systems), from memory, high
 * confidence. Nickel: three decades slower, from memory, low confidence. Others as copper.
 */
const copperExchange = 0.1;
const exchangeAmpsPerDm2: Partial<Readonly<Record<MetalId, number>>> = { 'nickel-II': 1e-4 };
/** Clips and leads, ohm; assumed, no source. */
const leadOhms = 0.05;

/** The cell as the model sees it. */
export interface Cell {
  readonly bath: Bath;
  readonly volumeLitres: number;
  readonly anodeAreaDm2: number;
}

/**
 * Overpotential, V, of a density in A/dm2 by the Butler-Volmer equation, with the transfer
 * coefficients of the reaction that runs and of its reverse.
 */
export function overpotentialVolts(
  densityAmpsPerDm2: number,
  exchange: number,
  forwardTransfer: number,
  reverseTransfer: number,
): number {
  const ratio = densityAmpsPerDm2 / exchange;
  let eta = Math.log1p(ratio) / forwardTransfer;
  // Newton on a rising function, from the Tafel answer just above its root.
  for (let step = 0; step < 60; step += 1) {
    const forward = Math.exp(forwardTransfer * eta);
    const reverse = Math.exp(-reverseTransfer * eta);
    const slope = forwardTransfer * forward + reverseTransfer * reverse;
    const change = (forward - reverse - ratio) / slope;
    eta -= change;
    if (Math.abs(change) < 1e-9) {
      break;
    }
  }
  return eta * thermalVolts;
}

/**
 * Resistance of the bath, ohm. The geometry is a stand-in: the tank is a cube of its volume, and the
 * current spreads as through a frustum of a cone from the piece's area to the anode's over half the
 * width of that cube, which makes R = d / (kappa sqrt(A_piece A_anode)).
 */
export function bathOhms(cell: Cell, areaMm2: number): number {
  const halfWidthMetres = Math.cbrt(cell.volumeLitres / 1000) / 2;
  const pieceM2 = areaMm2 / 1e6;
  const anodeM2 = cell.anodeAreaDm2 / 100;
  return halfWidthMetres / (cell.bath.conductivity.siemensPerMetre * Math.sqrt(pieceM2 * anodeM2));
}

/** Voltage, V, that drives a current through a piece of that area: bath, both electrodes, leads. */
export function cellVolts(cell: Cell, amps: number, areaMm2: number): number {
  const exchange = exchangeAmpsPerDm2[cell.bath.metal] ?? copperExchange;
  const cathodeDensity = (amps * mm2PerDm2) / areaMm2;
  const anodeDensity = amps / cell.anodeAreaDm2;
  return (
    amps * (bathOhms(cell, areaMm2) + leadOhms) +
    overpotentialVolts(cathodeDensity, exchange, cathodeTransfer, anodeTransfer) +
    overpotentialVolts(anodeDensity, exchange, anodeTransfer, cathodeTransfer)
  );
}
