/** What a bring-up asks the maker: from an option where it is given, else at the terminal. */

import { afterMains, type AfterMains } from './check-report.ts';
import { UsageError, type Call } from './command.ts';

/** An answer from its option, or typed; throws where there is neither. */
async function answer(call: Call, option: string, prompt: string): Promise<string> {
  const given = call.values[option];
  if (given !== undefined) return given;
  const typed = await call.terminal.ask(prompt);
  if (typed !== null) return typed;
  throw new UsageError(`There is no terminal to ask at: give --${option}.`);
}

function numbered(choices: readonly string[]): string {
  return choices.map((choice, index) => `  ${index + 1}  ${choice}`).join('\n');
}

/** One of several by its number or its name. */
export async function choose(
  call: Call,
  option: string,
  what: string,
  choices: readonly string[],
): Promise<string> {
  const prompt = `${numbered(choices)}\n${what} (1 to ${choices.length}):`;
  const typed = await answer(call, option, prompt);
  const chosen = /^\d+$/.test(typed) ? choices[Number(typed) - 1] : typed;
  if (chosen !== undefined && chosen !== '') return chosen;
  throw new UsageError(`"${typed}" is none of the ${choices.length}.`);
}

/** A number above 0 and up to a bound, which the question names. */
export async function bounded(
  call: Call,
  option: string,
  prompt: string,
  max: number,
  unit: string,
): Promise<number> {
  const typed = await answer(call, option, `${prompt} (up to ${max} ${unit}):`);
  const value = /^\d{1,4}(?:[.,]\d{1,4})?$/.test(typed) ? Number(typed.replace(',', '.')) : NaN;
  if (value > 0 && value <= max) return value;
  throw new UsageError(`--${option} is "${typed}"; it must be above 0 and at most ${max} ${unit}.`);
}

/** Whether the leads go into a resistor now. Only a plain yes switches anything on. */
export async function leadsReady(call: Call): Promise<boolean> {
  if (call.switches.has('leads-ready')) return true;
  if (call.switches.has('no-power')) return false;
  const typed = await call.terminal.ask(
    'Join the leads through the resistor. A low current then flows for some seconds. Ready? (yes/no)',
  );
  return typed?.toLowerCase() === 'yes';
}

/** What the output does when the mains comes back, as the maker saw it. */
export async function mains(call: Call): Promise<AfterMains> {
  const given = call.values['after-mains'];
  const typed =
    given ??
    (await call.terminal.ask(
      'Now by hand: switch its output on at its panel, pull its mains plug, count to five, plug it ' +
        'in again, and look at its display. Is the output off, on, or unknown?',
    )) ??
    'unknown';
  const known = afterMains.find((one) => one === typed.toLowerCase());
  if (known !== undefined) return known;
  throw new UsageError(`--after-mains is "${typed}"; it must be one of ${afterMains.join(', ')}.`);
}
