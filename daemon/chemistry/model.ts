/** The words of the bath: metals, baths, and where each figure comes from. */

/** Where a figure was found; `common practice, no source` and `from memory` are said as such. */
export type Source = string;

export type MetalId =
  | 'copper-II'
  | 'copper-I'
  | 'nickel-II'
  | 'silver-I'
  | 'gold-I'
  | 'gold-III'
  | 'zinc-II'
  | 'tin-II'
  | 'tin-IV';

export interface Metal {
  readonly id: MetalId;
  readonly name: string;
  readonly symbol: string;
  readonly molarMassGramsPerMol: number;
  readonly molarMassSource: Source;
  /** Electrons per ion. */
  readonly valence: number;
  readonly densityGramsPerCm3: number;
  readonly densitySource: Source;
}

/** A bath as data, from config/baths. */
export interface Bath {
  readonly id: string;
  readonly name: string;
  readonly metal: MetalId;
  readonly agitation: 'still' | 'agitated';
  readonly window: {
    readonly minAmpsPerDm2: number;
    readonly typicalAmpsPerDm2: number;
    readonly maxAmpsPerDm2: number;
    readonly source: Source;
  };
  /** Share of the charge that becomes metal, 0 to 1, and the half width of its range. */
  readonly efficiency: {
    readonly value: number;
    readonly uncertainty: number;
    readonly source: Source;
  };
  readonly temperature: {
    readonly minCelsius: number;
    readonly maxCelsius: number;
    readonly source: Source;
  };
  readonly conductivity: { readonly siemensPerMetre: number; readonly source: Source };
  /** Largest current per litre of bath before heat and additives suffer, A/L. */
  readonly loading: { readonly maxAmpsPerLitre: number; readonly source: Source };
  readonly notes: readonly string[];
}
