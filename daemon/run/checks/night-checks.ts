/** Checks of what guards a night: the circuit, the drill, who is called, and what the supply holds. */

import { failing, notNeeded, unknown, well } from './bench-checks.ts';
import type { CheckFacts, CheckFinding } from './model.ts';

const minuteMs = 60_000;
const dayMs = 86_400_000;
/** A piece may be hung anew after this: the circuit is then looked at again, ms. */
export const continuityLastsMs = 30 * minuteMs;
/** A drill shows that this supply obeys for so long, ms. */
export const drillLastsMs = 30 * dayMs;

const skipped = 'Skipped: this supply is simulated.';

export function checkContinuity(facts: CheckFacts): CheckFinding {
  const { simulated, continuity, wallMs } = facts;
  if (simulated) {
    return notNeeded(continuity === null ? skipped : `${skipped} ${continuity.sentence}`);
  }
  const run = 'Run the continuity check: a low current for a few seconds.';
  if (continuity === null) return unknown('The circuit has not been looked at yet.', run);
  const ageMs = wallMs - continuity.wallMs;
  if (ageMs < 0 || ageMs > continuityLastsMs) {
    const minutes = Math.round(Math.abs(ageMs) / minuteMs);
    const bound = continuityLastsMs / minuteMs;
    return unknown(`The circuit was last looked at ${minutes} min ago; ${bound} min count.`, run);
  }
  switch (continuity.verdict) {
    case 'closed':
      return well(continuity.sentence);
    case 'open':
      return {
        ...failing(
          continuity.sentence,
          'Look at the leads, the contact and the bath, then repeat.',
        ),
        weight: 'hard',
      };
    case 'shorted':
      // What cannot be set aside must be certain: two bare sheets may need only some millivolts.
      if (continuity.coarse === true) {
        return failing(
          `${continuity.sentence} The meter of this supply is too coarse to be sure of it: ` +
            'a large bare piece may look the same.',
          'Measure between piece and anode with a meter, the leads off. Then repeat, or acknowledge.',
        );
      }
      return {
        ...failing(continuity.sentence, 'Part the piece and the anode, look at the clips, repeat.'),
        weight: 'hard',
      };
  }
}

export function checkDrill({ simulated, drill, wallMs }: CheckFacts): CheckFinding {
  if (simulated) return notNeeded(drill === null ? skipped : `${skipped} ${drill.sentence}`);
  const run = 'Run the limits drill: it trips on purpose at a low current and reads OFF back.';
  if (drill === null) return unknown('There was no limits drill on this supply yet.', run);
  const days = Math.floor((wallMs - drill.wallMs) / dayMs);
  if (!drill.passed) return failing(drill.sentence, `Find out why, then repeat. ${run}`);
  if (days < 0 || wallMs - drill.wallMs > drillLastsMs) {
    const bound = drillLastsMs / dayMs;
    return failing(`The last drill on this supply was ${days} days ago; ${bound} days count.`, run);
  }
  const when = days === 0 ? 'within the last day' : `${days} days ago`;
  return well(`Drilled ${when}. ${drill.sentence} A drill calls nobody: a test alert shows that.`);
}

export function checkAlerts({ simulated, alerts }: CheckFacts): CheckFinding {
  if (simulated) return notNeeded(skipped);
  if (alerts === null || alerts.outsideChannels === 0) {
    return failing(
      'No outside channel is set up: an alarm is shown on the page, and nobody is called.',
      'Set up a channel that wakes you, and confirm a test. Or stay with the bench.',
    );
  }
  if (alerts.confirmed) return well(alerts.sentence);
  return failing(alerts.sentence, 'Send a test alert, and confirm that it came.');
}

export function checkMains({ simulated, afterMains }: CheckFacts): CheckFinding {
  if (simulated) return notNeeded(skipped);
  switch (afterMains) {
    case 'off':
      return well('After a power cut the output of this supply stays off, as you saw it.');
    case 'on':
      return failing(
        'The output of this supply comes back on with the mains, whether Nightbath runs or not.',
        'Have a contactor that stays open after a power cut put before it, by somebody who is ' +
          'licensed to. With it, try once more, and say so in Setup. Or stay with the bench.',
      );
    case 'unknown':
      return unknown(
        'What the output of this supply does when the mains returns has not been tried.',
        'Try it once with nothing on the leads: Setup, Supply, “When the mains returns”.',
      );
  }
}

/** Whether somebody has to see to it that the limits act, as the end of a sentence. */
function switchesOf({ overVoltageReadsOn, overCurrentReadsOn }: CheckFacts['protections']): string {
  if (overVoltageReadsOn && overCurrentReadsOn) {
    return 'both protections are switched on with them, and that is read back.';
  }
  if (!overVoltageReadsOn && !overCurrentReadsOn) {
    return 'where its panel has a switch for them, have it on.';
  }
  const [own, other] = overVoltageReadsOn
    ? ['over-voltage', 'over-current']
    : ['over-current', 'over-voltage'];
  return `its ${own} protection is switched on, and that is read back; where its panel has a switch for ${other}, have it on.`;
}

export function checkProtections({ simulated, protections }: CheckFacts): CheckFinding {
  if (simulated) return notNeeded(skipped);
  const { overVoltageLevel, overCurrentLevel, outputReadback, setPointReadback } = protections;
  const lacks = [
    overVoltageLevel ? '' : 'It cannot be given an over-voltage limit.',
    overCurrentLevel ? '' : 'It cannot be given an over-current limit.',
    outputReadback ? '' : 'It does not tell whether its output is on; the current alone shows it.',
    setPointReadback ? '' : 'It does not tell its set-points; a turned knob may go unseen.',
  ].filter((sentence) => sentence !== '');
  if (lacks.length === 0) {
    return well(
      `The supply takes both limits, voltage and current, and holds them if this computer dies: ${switchesOf(protections)}`,
    );
  }
  return failing(
    lacks.join(' '),
    overVoltageLevel && overCurrentLevel
      ? 'Nightbath watches the rest for as long as it runs.'
      : 'Set them at its front panel where it can. What it lacks ends with this computer.',
  );
}
