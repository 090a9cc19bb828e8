/** How far the truth may lie from the figures of a plan, and what makes most of that distance. */

import type { Bath } from '../chemistry/model.ts';
import type { Ranged } from './model.ts';
import type { DominantDoubt, DoubtSource } from './plan-findings.ts';

/** One cause of doubt: half the width of its own range, as a share of the value. */
export interface UncertaintyTerm {
  readonly name: DoubtSource;
  readonly share: number;
  /** How far it alone can pull the mean thickness down and push it up, as shares of it. */
  readonly down: number;
  readonly up: number;
}

/** Everything that doubt about a plan comes from, as shares. */
export interface UncertaintySources {
  readonly areaShare: number;
  readonly bath: Bath;
  readonly meterShare: number;
}

/**
 * Deposited metal is a little lighter than the handbook's: copper 8.92 to 8.94 g/cm3 in place of
 * 8.96. From memory, medium confidence (Safranek, Properties of Electrodeposited Metals and Alloys).
 */
export const metalDensityShare = 0.005;

// The truth stands in the divisor (a larger area makes a thinner deposit), so its range is lopsided.
function dividing(name: DoubtSource, share: number): UncertaintyTerm {
  return { name, share, down: share / (1 + share), up: share / (1 - share) };
}

function multiplying(name: DoubtSource, share: number, up = share): UncertaintyTerm {
  return { name, share, down: share, up };
}

/** The four terms, largest first. Shares are 0 to 0.9. */
export function uncertaintyTerms(sources: UncertaintySources): readonly UncertaintyTerm[] {
  const { value, uncertainty } = sources.bath.efficiency;
  const efficiencyShare = uncertainty / value;
  const terms = [
    dividing('area', sources.areaShare),
    // No more than all of the charge can become metal.
    multiplying('efficiency', efficiencyShare, Math.min(efficiencyShare, 1 / value - 1)),
    multiplying('meter', sources.meterShare),
    dividing('metalDensity', metalDensityShare),
  ];
  return terms.toSorted((first, second) => second.share - first.share);
}

/** Factors on the metal per area between which the truth lies. */
export interface Spread {
  readonly low: number;
  readonly high: number;
}

function spreadOf(terms: readonly UncertaintyTerm[]): Spread {
  const down = Math.sqrt(terms.reduce((sum, term) => sum + term.down ** 2, 0));
  const up = Math.sqrt(terms.reduce((sum, term) => sum + term.up ** 2, 0));
  return { low: Math.max(0, 1 - down), high: 1 + up };
}

/** Spread of the thickness at a given charge reading: all four terms in quadrature. */
export function thicknessSpread(sources: UncertaintySources): Spread {
  return spreadOf(uncertaintyTerms(sources));
}

/** Spread of the mass at a given charge reading: area and metal density have no say in it. */
export function massSpread(sources: UncertaintySources): Spread {
  const felt: readonly DoubtSource[] = ['efficiency', 'meter'];
  return spreadOf(uncertaintyTerms(sources).filter((term) => felt.includes(term.name)));
}

/** A value and its spread as a range. */
export function ranged(value: number, spread: Spread): Ranged {
  return { value, low: value * spread.low, high: value * spread.high };
}

/** What would shrink each source of doubt. */
export const doubtRemedies: Readonly<Record<DoubtSource, string>> = {
  area: 'Measure its parts again, at several places each; leafy shapes hide the most area.',
  efficiency: 'Weigh a piece before and after a run: the gain tells how much charge became metal.',
  meter: 'Check it against a second meter and enter what you find in the settings.',
  metalDensity: 'Nothing to do: every other figure here is surer than that.',
};

/** The source that makes most of the doubt about the thickness, with its part of the whole. */
export function dominantDoubt(sources: UncertaintySources): DominantDoubt {
  const terms = uncertaintyTerms(sources);
  const squared = ({ down, up }: UncertaintyTerm) => down ** 2 + up ** 2;
  const whole = terms.reduce((sum, term) => sum + squared(term), 0);
  const [largest] = terms.toSorted((first, second) => squared(second) - squared(first));
  if (largest === undefined) throw new RangeError('There are no sources of doubt.');
  return {
    source: largest.name,
    share: squared(largest) / whole,
    halfWidth: largest.share,
    remedy: doubtRemedies[largest.name],
  };
}
