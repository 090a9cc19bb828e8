/** Answers commands about alerts: the channels, a test on one of them, and that it arrived. */

import type { TestAnswer } from '../alerts/door.ts';
import type { AlertChannel, AlertReadiness } from '../wire/alerts.ts';
import type { Command, CommandAnswer } from '../wire/command.ts';
import { refusal } from './refusal.ts';

/** As much of the alerts as commands can ask for. */
export interface AlertCommands {
  readiness(): AlertReadiness;
  channels(): readonly AlertChannel[];
  test(channelName: string): Promise<TestAnswer>;
  confirm(code: string): Promise<TestAnswer>;
}

type OnAlerts = Extract<Command, { kind: `alert-${string}` }>;

export function isOnAlerts(command: Command): command is OnAlerts {
  return command.kind.startsWith('alert-');
}

export async function answerOnAlerts(
  alerts: AlertCommands,
  command: OnAlerts,
): Promise<CommandAnswer> {
  switch (command.kind) {
    case 'alert-readiness':
      return { ok: true, readiness: alerts.readiness() };
    case 'alert-channels':
      return { ok: true, channels: [...alerts.channels()] };
    case 'alert-test':
      return answerOf(await alerts.test(command.channel));
    case 'alert-confirm':
      return confirmed(alerts, command.code);
  }
}

async function confirmed(alerts: AlertCommands, code: string): Promise<CommandAnswer> {
  try {
    return answerOf(await alerts.confirm(code));
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    return refusal('unavailable', `That could not be written down. ${why}`);
  }
}

function answerOf({ kind, sentence }: TestAnswer): CommandAnswer {
  if (kind === 'unknown') return refusal('notFound', sentence);
  return kind === 'failed' ? refusal('refused', sentence) : { ok: true, message: sentence };
}
