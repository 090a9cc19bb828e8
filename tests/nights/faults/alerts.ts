/** Faults on the way of an alert: channels, network, a process that dies over it, a person asleep. */

import type { Moment } from '../world.ts';
import { between, channelFault, logBetween, running, type Row } from './row.ts';

/** Around the ends of runs, where there is something to be told. */
const telling: readonly Moment[] = ['boot', 'on', 'holding', 'offReceived', 'ended'];
const whileTelling = logBetween(4_000, 1_200_000);

/** The rows of the group `alerts`, in the catalogue's order. */
export const alerts: readonly Row[] = [
  ['channelTimesOut', 'benign', telling, [], whileTelling, channelFault('timesOut')],
  ['channelRefuses', 'benign', telling, [], whileTelling, channelFault('refuses')],
  ['channelServerError', 'benign', telling, [], whileTelling, channelFault('serverError')],
  ['channelLosesAnswers', 'benign', telling, [], whileTelling, channelFault('losesAnswers')],
  ['channelLosesLetters', 'benign', telling, [], whileTelling, channelFault('losesLetters')],
  ['networkGone', 'benign', telling, [], whileTelling, channelFault('noNetwork', true)],
  [
    'killedBeforeTelling',
    'grave',
    ['on', 'holding', 'onReceived'],
    [],
    logBetween(60_000, 4_000_000),
    (world) => {
      const { outside, host, random } = world;
      const kill = (): void => {
        // Its row may be on disk by then or not; the letter never leaves, or its answer never comes.
        const waitMs = random.uniform() < 0.3 ? 0 : between(random, 1, 60);
        host.after(waitMs, () =>
          world.killControl('died', 'The control process was ended by SIGKILL.'),
        );
      };
      outside.onNextSending = kill;
      return () => {
        if (outside.onNextSending === kill) outside.onNextSending = null;
      };
    },
  ],
  [
    'personSleeps',
    'benign',
    [...running, 'ended'],
    [],
    logBetween(100_000, 2_400_000),
    ({ person: hands }) => hands.misbehave('sleeps'),
  ],
];
