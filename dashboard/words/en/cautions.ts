/** The words of the Cautions page: the usual ones of the trade, and who has the last word. */

export const cautionWords = {
  title: 'Cautions',
  intro:
    'The usual cautions of this work, not all that there are. The safety data sheet of each chemical, the manual of the supply, your local rules and licensed practice come first.',
  groups: [
    [
      'The bath',
      [
        'It is corrosive, and some baths are poisonous. Gloves, eye protection, an apron; moving air, not only an open door.',
        'The safety data sheets at hand, and running water to rinse eyes and skin.',
        'Acid goes into water, never water into acid. Nothing that anybody eats or drinks from comes near it.',
        'A spill tray that holds all of it. A lid on it that lets gas out, while nobody is there.',
        'Cyanide baths are for licensed shops. This program plans none.',
      ],
    ],
    [
      'The current',
      [
        'Output off before a hand, a tool or a piece goes into the bath or comes out of it. Lift does that, and says when it is confirmed.',
        'The voltage is low, but a short makes leads and clips hot enough to burn. Leads that bear the current, tied down, where nobody trips.',
        'Supply and mains leads above the bath and off the wet side, on a circuit with a residual-current device.',
      ],
    ],
    [
      'The night',
      [
        'Nothing that burns beside or under the tank, a smoke alarm in the room, no children, no pets.',
        'A mains timer on the supply, set to the latest hour that you want current.',
        'An alert channel that you have tried. A page on a phone may sleep when you do.',
      ],
    ],
    [
      'This software',
      [
        'It can fail, and so can the computer. It is no emergency stop and no certified safety device.',
        'Know where the supply’s own output key and its mains switch are, and reach them in the dark.',
        'The figures are estimates: weigh a piece before and after, and believe the scales.',
      ],
    ],
    [
      'The waste',
      [
        'Spent baths and rinse water with metal in it never go down the drain. Collect them, label them, and hand them in as your local rules say.',
      ],
    ],
  ],
  again: 'Show the first steps again',
} as const;
