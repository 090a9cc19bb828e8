/** The words of materials: a row of the table, and how verdicts and actions are said. */

/** From the worst to the best. */
export type MaterialVerdict = 'keepOut' | 'caution' | 'withstands';

/** What can be done about a material. */
export type MaterialAction =
  | 'keepOut'
  | 'undercoat'
  | 'seal'
  | 'insulate'
  | 'mask'
  | 'dry'
  | 'cure'
  | 'keepCool'
  | 'noSolvents'
  | 'scrapTest';

/** Where a row comes from; only `read` was seen in the work it names. */
export type MaterialConfidence =
  'read' | 'fromMemoryHigh' | 'fromMemoryMedium' | 'fromMemoryLow' | 'commonPractice';

export type MaterialGroup =
  'stone' | 'organic' | 'plant' | 'glass' | 'resin' | 'metal' | 'paint' | 'sealant';

/** What a material is like apart from the verdict; each earns a warning of its own. */
export interface MaterialTraits {
  /** Bare, it takes copper. */
  readonly conducts: boolean;
  /** Copper falls out on it without current and holds nothing. */
  readonly baseMetal: boolean;
  readonly porous: boolean;
  readonly heatSensitive: boolean;
  readonly solventSensitive: boolean;
  readonly waterSensitive: boolean;
  /** In acid it may give off a poison, so that even a scrap is not to be tried. */
  readonly poisonsWhenTested: boolean;
}

/** One row of the table in config/materials.toml. */
export interface Material extends MaterialTraits {
  readonly id: string;
  readonly name: string;
  /** What a maker may type in its place. */
  readonly synonyms: readonly string[];
  readonly group: MaterialGroup;
  /** Mohs hardness, from memory; null where it says nothing. */
  readonly mohs: { readonly low: number; readonly high: number } | null;
  readonly verdict: MaterialVerdict;
  readonly why: string;
  readonly actions: readonly MaterialAction[];
  readonly advice: string;
  readonly source: string;
  readonly confidence: MaterialConfidence;
}

/** All verdicts, the strictest first. */
export const verdictsFromWorst: readonly MaterialVerdict[] = ['keepOut', 'caution', 'withstands'];

/** Sorts the strictest first: what poisons, then by verdict. */
export function byStrictness(
  left: Pick<Material, 'verdict' | 'poisonsWhenTested'>,
  right: Pick<Material, 'verdict' | 'poisonsWhenTested'>,
): number {
  return (
    Number(right.poisonsWhenTested) - Number(left.poisonsWhenTested) ||
    verdictsFromWorst.indexOf(left.verdict) - verdictsFromWorst.indexOf(right.verdict)
  );
}

/** How each verdict is said. */
export const verdictWords: Readonly<Record<MaterialVerdict, string>> = {
  keepOut: 'Keep it out of the bath',
  caution: 'Take care',
  withstands: 'Usually withstands the bath',
};

/** How each action is said. */
export const actionWords: Readonly<Record<MaterialAction, string>> = {
  keepOut: 'Keep it out and set it after the bath.',
  undercoat: 'Have an undercoat of nickel or alkaline copper put on by a shop.',
  seal: 'Seal it whole, drill holes and edges too.',
  insulate: 'Insulate it wherever no copper is wanted.',
  mask: 'Mask what is to stay bare.',
  dry: 'Dry it fully first.',
  cure: 'Cure and wash it fully first.',
  keepCool: 'Keep it cool, and spare it sudden changes of temperature.',
  noSolvents: 'Keep solvents and alcohol off it.',
  scrapTest: 'Try a scrap of the same material in the bath first.',
};

/** How each confidence is said. */
export const confidenceWords: Readonly<Record<MaterialConfidence, string>> = {
  read: 'read in the work named',
  fromMemoryHigh: 'from memory, high confidence',
  fromMemoryMedium: 'from memory, medium confidence',
  fromMemoryLow: 'from memory, low confidence',
  commonPractice: 'common practice, no source',
};

/** Stands under every judgement of materials. */
export const materialsNotice =
  'This is advice, never a guarantee: stones and finds differ, and many are dyed, filled or glued ' +
  'without a word. Try a scrap of the same material first, but never one that may give off a poison ' +
  'in acid. Masking is not sealing: solution creeps under lacquer and through drill holes. Local ' +
  'rules and licensed practice decide.';
