/** The words of the list of materials. */

export const materialsWords = {
  intro: 'What else is in or on the piece: stones, shell, wood, glue, other metals.',
  add: 'Add a material',
  addHelp: 'Type its name; slips of the key are allowed.',
  addTyped: (name: string) => `Add “${name}” as it is`,
  unknown: 'not in the table',
  noLetters: 'Write the name in Latin letters; the table knows no others.',
  suggestions: 'Did you mean',
  remove: (name: string) => `Remove ${name}`,
  none: 'None named. Copper and the conductive paint need no entry.',
  source: 'Source',
  failed: 'The table of materials could not be loaded.',
  also: (matched: string) => `also ${matched}`,
} as const;
