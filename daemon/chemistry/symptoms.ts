/** What a deposit can look like when something is wrong, with its likely causes and where they were published. */

import type { Source } from './model.ts';

/** One likely cause and what to do about it. */
export interface SymptomCause {
  readonly cause: string;
  readonly remedy: string;
  readonly source: Source;
}

/** One look of a deposit. */
export interface Symptom {
  readonly id: SymptomId;
  readonly name: string;
  /** How to tell it, one sentence. */
  readonly look: string;
  /** The likelier ones first, as far as the source ranks them. */
  readonly causes: readonly SymptomCause[];
}

export const symptomIds = [
  'burnt',
  'rough',
  'nodules',
  'pitted',
  'dull',
  'brittle',
  'uneven',
  'bare',
  'loose',
  'crystals',
  'acid-up',
] as const;
/** A symptom by its id. */
export type SymptomId = (typeof symptomIds)[number];

const guide2013 = 'Metal Finishing Guide Book 2013 p. 286, trouble-shooting of acid copper';
const guide2011 = 'Metal Finishing Guide Book 2011-12 p. 206';
const memory = 'from memory';
const practice = 'common practice, no source';

const densityDown = 'Plan the next run at a lower density.';
const warmer = 'Bring the bath into the range of its sheet before the next run.';
const stir = 'Stir or move the solution, or plan at a lower density.';
const byAnalysis = "Have it analysed, and correct it by the supplier's sheet.";

/** Every symptom with its causes, in the order in which the page offers them. */
export const symptoms: readonly Symptom[] = [
  {
    id: 'burnt',
    name: 'Burnt',
    look: 'Dark red or brown powder at tips and edges, sometimes with bubbles.',
    causes: [
      {
        cause: 'Current density too high for this bath, often by a slip of unit or area.',
        remedy: `Look at area and density of the run. ${densityDown}`,
        source: memory,
      },
      { cause: 'Too little copper in the bath.', remedy: byAnalysis, source: guide2013 },
      { cause: 'Bath too cold.', remedy: warmer, source: guide2013 },
      { cause: 'Too little movement of the solution.', remedy: stir, source: guide2013 },
      { cause: 'Too little chloride.', remedy: byAnalysis, source: guide2013 },
    ],
  },
  {
    id: 'rough',
    name: 'Rough',
    look: 'Grains that can be felt with a fingernail, most on surfaces that face up.',
    causes: [
      {
        cause: 'Particles in the bath.',
        remedy: 'Filter it; keep dust and paint flakes out.',
        source: guide2013,
      },
      {
        cause: 'A torn anode bag.',
        remedy: 'Look at the bags and change torn ones.',
        source: guide2013,
      },
      {
        cause: 'Anodes without phosphorus.',
        remedy: 'Use phosphorised copper anodes in bags.',
        source: guide2013,
      },
      { cause: 'Too little chloride.', remedy: byAnalysis, source: guide2013 },
      {
        cause: 'Anodes too small: at a high density of their own they lose their black film.',
        remedy: 'Hang in more anode area.',
        source: guide2011,
      },
    ],
  },
  {
    id: 'nodules',
    name: 'Knobs and trees',
    look: 'Beads or branches that grow out of edges and tips.',
    causes: [
      {
        cause: 'Density in the upper part of what this bath bears: what stands out grows faster.',
        remedy: `${densityDown} Turn the piece more often; a thief wire near the tips helps.`,
        source: memory,
      },
      {
        cause: 'Particles that were grown over.',
        remedy: 'Filter the bath; look at the anode bags.',
        source: guide2013,
      },
    ],
  },
  {
    id: 'pitted',
    name: 'Pitted',
    look: 'Small holes or comet tails in metal that is smooth otherwise.',
    causes: [
      { cause: 'Bath too cold.', remedy: warmer, source: guide2013 },
      {
        cause: 'Air or gas bubbles that cling to the piece.',
        remedy: 'Wet the piece well, knock bubbles off after putting it in, move the solution.',
        source: practice,
      },
    ],
  },
  {
    id: 'dull',
    name: 'Dull',
    look: 'The shine that this bath usually gives is gone, all over or in patches.',
    causes: [
      {
        cause: 'Brightener used up, or out of balance.',
        remedy: "Look at what is due above; add by the supplier's sheet, in small steps.",
        source: practice,
      },
      { cause: 'Bath too warm.', remedy: warmer, source: guide2013 },
      {
        cause: 'Organic dirt and broken-down additives.',
        remedy: 'Carbon treatment by the supplier’s sheet, then additives anew.',
        source: guide2013,
      },
      {
        cause: 'Density too low: under about 0.3 A/dm2 copper turns dark and dull.',
        remedy: 'Look at area and density of the run.',
        source: memory,
      },
    ],
  },
  {
    id: 'brittle',
    name: 'Brittle',
    look: 'Thin places crack where they should bend.',
    causes: [
      {
        cause: 'Organic dirt, or too much brightener.',
        remedy: 'Carbon treatment by the supplier’s sheet, then additives anew.',
        source: guide2013,
      },
    ],
  },
  {
    id: 'uneven',
    name: 'Uneven',
    look: 'Edges thick and hollows thin, more than on earlier pieces.',
    causes: [
      {
        cause: 'Too much anode area.',
        remedy: 'Hang in less, or further away.',
        source: guide2013,
      },
      { cause: 'Too little acid.', remedy: byAnalysis, source: guide2013 },
      {
        cause: 'Organic dirt.',
        remedy: 'Carbon treatment by the supplier’s sheet.',
        source: guide2013,
      },
      { cause: 'Bath too warm.', remedy: warmer, source: guide2013 },
      {
        cause: 'Anode on one side only, or too near.',
        remedy: 'Anodes on two sides or all round, three piece sizes away; turn the piece.',
        source: memory,
      },
    ],
  },
  {
    id: 'bare',
    name: 'Bare places',
    look: 'Paint or base still shows where metal should be.',
    causes: [
      {
        cause: 'Paint too thin there, or without a path to the contact.',
        remedy: 'Measure its resistance; paint again or add a contact.',
        source: practice,
      },
      {
        cause: 'Density too low in hollows.',
        remedy: 'Open the place to the anode; turn the piece.',
        source: memory,
      },
      {
        cause: 'A bubble or a trace of grease kept the bath away.',
        remedy: 'Degrease; wet the piece and knock bubbles off.',
        source: practice,
      },
    ],
  },
  {
    id: 'loose',
    name: 'Loose or spongy',
    look: 'Metal that rubs off, or lifts from what is under it.',
    causes: [
      {
        cause: 'Iron, zinc, tin or pewter touched the bath bare: copper fell out on it by itself.',
        remedy: 'Seal such metals or give them an undercoat; keep them out of the bath.',
        source: 'a maker of plating chemistry says so of iron and zinc; the others from memory',
      },
      {
        cause: 'Grease or dust under the paint or the metal.',
        remedy: 'Degrease, rinse, and do not touch it again.',
        source: practice,
      },
      { cause: 'Burnt from the start.', remedy: densityDown, source: memory },
    ],
  },
  {
    id: 'crystals',
    name: 'Crystals, thick anode film',
    look: 'Blue crystals on anodes, bags or rim; a thick coat on the anode.',
    causes: [
      {
        cause: 'Anode density too low: copper sulfate builds up and the film grows thick.',
        remedy: 'Take out anode area.',
        source: guide2011,
      },
      {
        cause: 'Copper creeps up: anodes dissolve a little better than pieces grow.',
        remedy: 'Dilute or take out solution by analysis.',
        source: 'Products Finishing, "A Growing Copper Bath"',
      },
      { cause: 'Water lost to the air.', remedy: 'Top up with pure water.', source: practice },
    ],
  },
  {
    id: 'acid-up',
    name: 'Acid up, copper down',
    look: 'Analysis finds more acid and less copper than before; the voltage creeps up.',
    causes: [
      {
        cause: 'Anodes too small, or sealed off by their film.',
        remedy: 'Clean the anodes, hang in more, change the bags.',
        source: 'Products Finishing, "Acid Concentration in a Copper Sulfate Bath"',
      },
    ],
  },
];
