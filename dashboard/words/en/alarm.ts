/** The words of alarms on this device: sound, notifications, the title of the page. */

import type { Sound } from '../../alarm/pattern.ts';

const sounds: Readonly<Record<Sound, string>> = {
  stopped: 'Stopped',
  'act-soon': 'Act soon',
  note: 'Note',
  away: 'Out of reach',
};

export const alarmWords = {
  device: 'On this device',
  sounds,
  away: 'Nothing was heard of the bench for two minutes while current may flow. Look at it.',
  turn: 'Turn the piece: it is due.',
  turned: 'Turned',
  quiet: 'Quiet until it is back',
  sound: {
    off: 'Sound is off on this device.',
    armed: 'Sound is armed.',
    'held-back': 'The browser has silenced this page. Press again.',
    missing: 'This browser makes no sound on a page.',
    again: 'Sound was armed here before. The next press anywhere arms it again.',
  },
  volume: 'Volume up, silent mode off, and this page left open.',
  arm: 'Arm the sound',
  disarm: 'Sound off',
  test: 'Test the sound',
  testing: (sound: Sound) => `This is: ${sounds[sound]}.`,
  tested: 'Those were the three. If you heard none, turn the volume up.',
  refused: 'The browser did not let it sound. Press once more.',
  notifications: {
    granted: 'Notifications are on: an alarm shows while this page is in the background.',
    ask: 'Notifications are off on this device.',
    denied: 'Notifications were refused in this browser. Its site settings allow them again.',
    address:
      'Notifications are not available on this address: browsers allow them over https and on the bench’s own machine only.',
    browser: 'This browser shows no notifications from a page.',
    instead:
      'Instead, keep the Night view open with its sound armed, and set up an alert channel that reaches your phone.',
  },
  allow: 'Allow notifications',
  nightView: 'Night view',
  asking: (sound: Sound, tank: string) => `(!) ${sounds[sound]}: ${tank}`,
} as const;
