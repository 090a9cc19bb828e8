/** The sentences about signing in, and about what a passphrase does not allow. */

import type { Role } from '../../../daemon/wire/roles.ts';

const roles: Readonly<Record<Role, string>> = {
  view: 'looking on',
  stop: 'looking on and switching off',
  control: 'everything',
};

export const accessWords = {
  title: 'Sign in',
  intro: 'This bench asks for a passphrase.',
  passphrase: 'Passphrase',
  show: 'Show it',
  name: 'Your name',
  nameHelp: 'Not needed. It stands beside what you do in the events of a run.',
  send: 'Sign in',
  sending: 'A moment.',
  empty: 'Enter the passphrase.',
  noAnswer: 'Nightbath does not answer. You are not signed in yet; try again.',
  atTheSupply:
    'To switch off without signing in, use the supply’s own output key or its mains switch.',
  forgotten: 'Forgotten? On the machine of the bench, “nightbath passphrase” sets a new one.',
  ended: (since: string): string =>
    `You are not signed in any more. The numbers are those of ${since}.`,
  again: 'Sign in again',
  needs: {
    view: 'Sign in to see this.',
    stop: 'Needs the passphrase for stop or control.',
    control: 'Needs the passphrase for control.',
  } satisfies Record<Role, string>,
  limits: 'What this passphrase allows',
  limited: {
    view: 'You are looking on. Switching off needs the passphrase for stop, everything else the one for control.',
    stop: 'You are looking on and can switch off. Everything else needs the passphrase for control.',
  },
  noSwitch:
    'This passphrase does not switch off. Use the supply’s own switch, or sign in for stop or control.',
  as: (name: string, role: Role): string =>
    name === '' ? `Signed in for ${roles[role]}.` : `Signed in as ${name}, for ${roles[role]}.`,
  out: 'Sign out',
  outAll: 'Sign everybody out',
  outFailed: 'That did not work. Try again.',
} as const;
