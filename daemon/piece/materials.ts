/** Judges what a piece is made of: what the bath leaves alone, and what to do about the rest. */

import { materialMatches } from './material-search.ts';
import type { MaterialMatch } from './material-search.ts';
import { materialsNotice, verdictsFromWorst, verdictWords } from './material.ts';
import type {
  Material,
  MaterialAction,
  MaterialConfidence,
  MaterialTraits,
  MaterialVerdict,
} from './material.ts';
import type { Problem } from './model.ts';

/** What the table says of one material of a piece. */
export interface MaterialJudgement {
  readonly id: string;
  readonly name: string;
  /** False where the table has no such material: it is then to be kept out. */
  readonly known: boolean;
  readonly verdict: MaterialVerdict;
  /** The verdict as it is said. */
  readonly headline: string;
  readonly why: string;
  /** Always ends with `scrapTest`, but for what poisons when tested and for what nobody knows. */
  readonly actions: readonly MaterialAction[];
  readonly advice: string;
  /** One sentence for each trait that matters, and for a hardness that misleads. */
  readonly warnings: readonly string[];
  readonly source: string;
  readonly confidence: MaterialConfidence | null;
  /** For an unknown name: what may have been meant. */
  readonly suggestions: readonly MaterialMatch[];
}

/** All materials of a piece, the worst first. */
export interface MaterialsJudgement {
  /** That of the worst; null for a piece that names none. */
  readonly verdict: MaterialVerdict | null;
  readonly materials: readonly MaterialJudgement[];
  /** Stands under every judgement. */
  readonly notice: string;
}

const traitWarnings: Readonly<Record<keyof MaterialTraits, string>> = {
  poisonsWhenTested: 'Do not try even a scrap in acid: what it may give off is poisonous.',
  baseMetal:
    'Copper must not touch it bare: without current a loose sponge forms that holds nothing.',
  conducts: 'It conducts: what is bare takes copper and counts in the area.',
  porous: 'It draws in solution, which comes out again later.',
  waterSensitive: 'Water alone can harm it, acid or not.',
  heatSensitive: 'Heat and sudden changes of temperature harm it.',
  solventSensitive: 'Solvents, alcohol and the thinner of a lacquer can harm it.',
};

const traits = [
  'poisonsWhenTested',
  'baseMetal',
  'conducts',
  'porous',
  'waterSensitive',
  'heatSensitive',
  'solventSensitive',
] as const;

// As hard as a knife blade or harder, and as soft as a copper coin or softer.
const hardMohs = 5;
const softMohs = 4;

/** Where hardness would mislead: a hard stone that acid eats, a soft one that it leaves alone. */
function hardnessWarning({ group, mohs, verdict }: Material): string | null {
  if (mohs === null || group === 'metal') return null;
  const shown = mohs.low === mohs.high ? `${mohs.low}` : `${mohs.low} to ${mohs.high}`;
  if (verdict === 'keepOut' && mohs.low >= hardMohs) {
    return `Hard is not acid-proof: Mohs ${shown} says how it scratches, not what the bath does.`;
  }
  if (verdict === 'withstands' && mohs.high <= softMohs) {
    return `Soft is not acid-shy: Mohs ${shown} scratches easily, yet the bath usually leaves it alone.`;
  }
  return null;
}

function judgeKnown(material: Material): MaterialJudgement {
  const { id, name, verdict, why, advice, source, confidence } = material;
  const hardness = hardnessWarning(material);
  return {
    id,
    name,
    known: true,
    verdict,
    headline: verdictWords[verdict],
    why,
    actions: withScrapTest(material),
    advice,
    warnings: [
      ...(hardness === null ? [] : [hardness]),
      ...traits.filter((trait) => material[trait]).map((trait) => traitWarnings[trait]),
    ],
    source,
    confidence,
    suggestions: [],
  };
}

function withScrapTest({ actions, poisonsWhenTested }: Material): readonly MaterialAction[] {
  const others = actions.filter((action) => action !== 'scrapTest');
  return poisonsWhenTested ? others : [...others, 'scrapTest'];
}

function judgeUnknown(id: string, table: readonly Material[]): MaterialJudgement {
  return {
    id,
    name: id,
    known: false,
    verdict: 'keepOut',
    headline: verdictWords.keepOut,
    why: 'The table knows nothing of it: it may give off a poison in acid, and neither looks nor hardness tell.',
    actions: ['keepOut'],
    advice: 'Keep it out until you know what it is: ask who sold it, then look that name up.',
    warnings: ['Do not try even a scrap in acid before you know what it is.'],
    source: 'not in the table',
    confidence: null,
    suggestions: materialMatches(id, table, 3),
  };
}

/**
 * Judges the materials of a piece by their ids, each once, the worst first and otherwise in the order
 * given. An id that the table does not know is to be kept out, and never left out of the judgement.
 */
export function judgeMaterials(
  ids: readonly string[],
  table: readonly Material[],
): MaterialsJudgement {
  const materials = [...new Set(ids)]
    .map((id) => {
      const material = table.find((row) => row.id === id);
      return material === undefined ? judgeUnknown(id, table) : judgeKnown(material);
    })
    .toSorted(
      (left, right) =>
        verdictsFromWorst.indexOf(left.verdict) - verdictsFromWorst.indexOf(right.verdict),
    );
  return { verdict: materials[0]?.verdict ?? null, materials, notice: materialsNotice };
}

/** Metals of the table that copper must not touch bare. */
export function baseMetals(table: readonly Material[]): readonly Material[] {
  return table.filter(({ baseMetal }) => baseMetal);
}

/** What is wrong with a table as a whole: names used twice, and rows that contradict themselves. */
export function materialsProblems(table: readonly Material[]): readonly Problem[] {
  const named = new Map<string, number>();
  return table.flatMap((material, index) => [
    ...nameProblems(material, index, table, named),
    ...rowProblems(material, index),
  ]);
}

function nameProblems(
  material: Material,
  index: number,
  table: readonly Material[],
  named: Map<string, number>,
): readonly Problem[] {
  const problems: Problem[] = [];
  const sameId = table.findIndex(({ id }) => id === material.id);
  if (sameId < index) {
    const bound = `unlike that of materials[${sameId}]`;
    problems.push(problem(`materials[${index}].id`, material.id, bound));
  }
  for (const [place, name] of [material.name, ...material.synonyms].entries()) {
    const key = name.toLowerCase();
    const other = named.get(key);
    if (other === undefined) named.set(key, index);
    else {
      const field = place === 0 ? 'name' : `synonyms[${place - 1}]`;
      const bound = `a name of its own: materials[${other}] has this one`;
      problems.push(problem(`materials[${index}].${field}`, name, bound));
    }
  }
  return problems;
}

function rowProblems(material: Material, index: number): readonly Problem[] {
  const { mohs, verdict, actions, baseMetal, poisonsWhenTested } = material;
  const at = `materials[${index}]`;
  const problems: Problem[] = [];
  if (mohs !== null && mohs.low > mohs.high) {
    problems.push(problem(`${at}.mohs.low`, mohs.low, `at most mohs.high, ${mohs.high}`));
  }
  if (verdict === 'keepOut' && !actions.includes('keepOut')) {
    const bound = 'a list with "keepOut", as the verdict has it';
    problems.push(problem(`${at}.actions`, actions.join(', '), bound));
  }
  if (verdict === 'withstands' && actions.includes('keepOut')) {
    const bound = 'a list without "keepOut", as the verdict is "withstands"';
    problems.push(problem(`${at}.actions`, actions.join(', '), bound));
  }
  if (poisonsWhenTested && verdict !== 'keepOut') {
    problems.push(problem(`${at}.verdict`, verdict, '"keepOut", as poisonsWhenTested is true'));
  }
  if (poisonsWhenTested && actions.includes('scrapTest')) {
    const bound = 'a list without "scrapTest", as poisonsWhenTested is true';
    problems.push(problem(`${at}.actions`, actions.join(', '), bound));
  }
  if (baseMetal && verdict === 'withstands') {
    const bound = '"caution" or "keepOut", as baseMetal is true';
    problems.push(problem(`${at}.verdict`, verdict, bound));
  }
  return problems;
}

function problem(field: string, value: string | number, bound: string): Problem {
  const shown = typeof value === 'number' ? String(value) : `"${value}"`;
  return { field, value: shown, bound, message: `${field} is ${shown}; it must be ${bound}.` };
}
