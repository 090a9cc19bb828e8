/** Checks of the bench itself: the line, the supply's errors, its output, its set-points, log and clock. */

import { localText, localTimeAt } from '../wall-time.ts';
import type { CheckFacts, CheckFinding } from './model.ts';

export const well = (sentence: string): CheckFinding => ({ state: 'ok', sentence, remedy: '' });
export const notNeeded = (sentence: string): CheckFinding => ({
  state: 'notNeeded',
  sentence,
  remedy: '',
});
export const failing = (sentence: string, remedy: string): CheckFinding => ({
  state: 'failing',
  sentence,
  remedy,
});
export const unknown = (sentence: string, remedy: string): CheckFinding => ({
  state: 'unknown',
  sentence,
  remedy,
});

const lookAtLine =
  'Look at the mains switch, the cable and the adapter. "nightbath ports" lists what is plugged in.';

export function checkLink({ simulated, link }: CheckFacts): CheckFinding {
  if (link.state === 'connecting') return unknown('The line is being opened.', 'Wait a moment.');
  if (link.state === 'lost') {
    return failing(`The supply does not answer. ${link.message}`, lookAtLine);
  }
  if (simulated || link.identityExpected) return well(`It says it is ${link.message}.`);
  return well(
    `It says it is ${link.message}. Any other supply on this line would be taken as well; ` +
      'expectIdentity in the settings rules that out.',
  );
}

export function checkErrors({ standingErrors }: CheckFacts): CheckFinding {
  if (standingErrors === null) return notNeeded('This supply keeps no list of its errors.');
  const count = standingErrors.length;
  if (count === 0) return well('The supply reports no errors.');
  const told = standingErrors.slice(0, 3).join('; ');
  const more = count > 3 ? `; and ${count - 3} more` : '';
  const what = count === 1 ? '1 error' : `${count} errors`;
  return failing(
    `The supply reported ${what} when the line came up: ${told}${more}.`,
    'Its manual says what they mean. A limits drill that passes shows that it obeys all the same.',
  );
}

export function checkOutput({ output, measuredAmps, offAmps }: CheckFacts): CheckFinding {
  const measured = measuredAmps === null ? '' : ` ${measuredAmps.toFixed(3)} A is measured.`;
  switch (output) {
    case 'confirmedOff':
      return measuredAmps === null
        ? well('Read back as off.')
        : well(
            `Read back as off; ${measuredAmps.toFixed(3)} A is measured, ` +
              `and below ${offAmps.toFixed(3)} A counts as none.`,
          );
    case 'on':
      return failing(`The output is on.${measured}`, 'Press Off, and look who switched it on.');
    case 'offRequested':
      return unknown('OFF was sent and is not read back yet.', 'Wait a moment.');
    case 'unknown':
      return unknown(
        'It is not known whether the output is off.',
        'Press Off. If it is not confirmed then, switch the supply off by hand.',
      );
  }
}

export function checkSetPoints({ setPoints, protections }: CheckFacts): CheckFinding {
  if (setPoints === null) {
    return notNeeded('Set-points and limits are programmed and read back when a run is armed.');
  }
  const values = `${setPoints.volts.toFixed(2)} V and ${setPoints.amps.toFixed(3)} A`;
  if (!setPoints.readBack) {
    return unknown(`${values} are being programmed and read back.`, 'Wait a moment.');
  }
  return protections.setPointReadback
    ? well(`The supply reads back ${values}.`)
    : notNeeded(
        `${values} were sent. This supply cannot be asked for its set-points: look at its display.`,
      );
}

export function checkLog({ log }: CheckFacts): CheckFinding {
  if (log.failure !== null) {
    return failing(`The log cannot be written. ${log.failure}`, 'Look at the disk.');
  }
  const need = `the longest run on this tank may take ${Math.ceil(log.neededMegabytes)} MB`;
  if (log.freeMegabytes === null) {
    return {
      ...unknown(
        `The log can be written, but the system does not tell how much room is left; ${need}.`,
        'Look at the disk that holds the log.',
      ),
      weight: 'advice',
    };
  }
  const free = `${Math.floor(log.freeMegabytes).toLocaleString('en')} MB are free`;
  return log.freeMegabytes < log.neededMegabytes
    ? failing(`Only ${free}; ${need}.`, 'Make room on the disk that holds the log.')
    : well(`${free}; ${need}.`);
}

/** 1 January 2026, UTC. No Nightbath is older: a clock before it was never set. */
const firstWallMs = 1_767_225_600_000;
/** A wall clock that is corrected by less than this is in order. */
const stepBoundMs = 60_000;

export function checkClock({ wallMs, clock }: CheckFacts): CheckFinding {
  const now = shownTime(wallMs, clock.timeZone);
  const remedy = 'Set date and time of this computer, or let it join a network that gives them.';
  if (wallMs < firstWallMs) return failing(`The clock says ${now}, so it was never set.`, remedy);
  const { latestRecordWallMs: latest, steppedMs } = clock;
  if (latest !== null && wallMs < latest - stepBoundMs) {
    return failing(
      `The clock says ${now}; the log already holds ${shownTime(latest, clock.timeZone)}.`,
      remedy,
    );
  }
  if (Math.abs(steppedMs) >= stepBoundMs) {
    const minutes = Math.round(Math.abs(steppedMs) / 60_000);
    const way = steppedMs > 0 ? 'forwards' : 'backwards';
    return failing(
      `The clock was moved ${way} by ${minutes} min a short while ago; it says ${now}.`,
      'Look whether it is right now. A run measures its hours by another clock.',
    );
  }
  return well(`The clock says ${now}.`);
}

/** With its year, which is what is wrong in a clock that was never set. */
function shownTime(wallMs: number, timeZone: string): string {
  return `${localText(wallMs, timeZone)} ${localTimeAt(wallMs, timeZone).year}`;
}
