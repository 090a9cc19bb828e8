/** The metals the bench can count, with the source of every figure. */

import type { Metal, MetalId } from './model.ts';

const ciaaw = 'CIAAW/IUPAC, Standard Atomic Weights 2021';
const handbook =
  'handbook table of electrochemical equivalents (Metal Finishing Guidebook type), read as a reprint';

const copper = {
  symbol: 'Cu',
  molarMassGramsPerMol: 63.546,
  molarMassSource: ciaaw,
  densityGramsPerCm3: 8.96,
  densitySource: `${handbook}; deposited copper is often 8.92 to 8.94 (from memory)`,
};

const gold = {
  symbol: 'Au',
  molarMassGramsPerMol: 196.96657,
  molarMassSource: 'from memory, high confidence; the chemicals library for Python has 196.96655',
  densityGramsPerCm3: 19.3,
  densitySource: handbook,
};

const tin = {
  symbol: 'Sn',
  molarMassGramsPerMol: 118.71,
  molarMassSource: ciaaw,
  densityGramsPerCm3: 7.29,
  densitySource: handbook,
};

/** Every metal by its id: molar mass in g/mol, electrons per ion, density in g/cm3 at 20 to 25 C. */
export const metals: Readonly<Record<MetalId, Metal>> = {
  'copper-II': { id: 'copper-II', name: 'Copper(II)', valence: 2, ...copper },
  'copper-I': { id: 'copper-I', name: 'Copper(I)', valence: 1, ...copper },
  'nickel-II': {
    id: 'nickel-II',
    name: 'Nickel(II)',
    symbol: 'Ni',
    molarMassGramsPerMol: 58.6934,
    molarMassSource: ciaaw,
    valence: 2,
    densityGramsPerCm3: 8.908,
    densitySource: `from memory, high confidence; the ${handbook}, has 8.90`,
  },
  'silver-I': {
    id: 'silver-I',
    name: 'Silver(I)',
    symbol: 'Ag',
    molarMassGramsPerMol: 107.8682,
    molarMassSource: ciaaw,
    valence: 1,
    densityGramsPerCm3: 10.49,
    densitySource: handbook,
  },
  'gold-I': { id: 'gold-I', name: 'Gold(I)', valence: 1, ...gold },
  'gold-III': { id: 'gold-III', name: 'Gold(III)', valence: 3, ...gold },
  'zinc-II': {
    id: 'zinc-II',
    name: 'Zinc(II)',
    symbol: 'Zn',
    molarMassGramsPerMol: 65.38,
    molarMassSource: ciaaw,
    valence: 2,
    densityGramsPerCm3: 7.14,
    densitySource: handbook,
  },
  'tin-II': { id: 'tin-II', name: 'Tin(II)', valence: 2, ...tin },
  'tin-IV': { id: 'tin-IV', name: 'Tin(IV)', valence: 4, ...tin },
};

function isMetalId(id: string): id is MetalId {
  return Object.hasOwn(metals, id);
}

/** The metal of that id; throws RangeError naming the known ids when there is none. */
export function metalById(id: string): Metal {
  if (!isMetalId(id)) {
    throw new RangeError(`metal is "${id}"; known metals are ${Object.keys(metals).join(', ')}`);
  }
  return metals[id];
}
