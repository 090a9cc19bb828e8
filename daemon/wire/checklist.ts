/** The checklist before current may flow; apart from the schemas, so that a page need not load them. */

/** What the maker has to have looked at before a run can be armed. */
export const checklistItems = [
  {
    id: 'polarity',
    text: 'The piece hangs on the negative lead. The anode is in the bath, on the positive one.',
  },
  { id: 'contact', text: 'The contact is tight, and out of the bath.' },
  {
    id: 'leads',
    text: 'The leads are clear: they cannot fall in, touch each other or be tripped over.',
  },
  { id: 'sealed', text: 'Everything that acid can harm is sealed or kept out of the bath.' },
  {
    id: 'tray',
    text: 'The bath stands in a spill tray, out of reach of children and pets, on a surface that cannot burn.',
  },
  { id: 'air', text: 'The room is ventilated; eye protection and gloves are at hand.' },
] as const;
