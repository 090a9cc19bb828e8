/** The table of commands, in the order of the help. */

import type { Command } from './command.ts';

/**
 * A command by its name. Its code is loaded only when it is asked for: `serve` stays in memory all
 * night as the sentinel, which has no use for drivers and databases.
 */
export interface CommandEntry {
  readonly name: string;
  readonly summary: string;
  load(): Promise<Command>;
}

export const commands: readonly CommandEntry[] = [
  {
    name: 'serve',
    summary: 'Runs the bench: the control of the tanks, and the page in the browser',
    load: async () => (await import('./serve.ts')).serveCommand,
  },
  {
    name: 'plan',
    summary: 'Plans a piece from a JSON file and prints the plan; no daemon is needed',
    load: async () => (await import('./plan.ts')).planCommand,
  },
  {
    name: 'pieces',
    summary: 'Lists the saved pieces, or writes one with its pictures; the daemon may run or not',
    load: async () => (await import('./pieces.ts')).piecesCommand,
  },
  {
    name: 'ports',
    summary: 'Lists serial devices, with the stable name of each',
    load: async () => (await import('./ports.ts')).portsCommand,
  },
  {
    name: 'check',
    summary:
      'Brings a real supply up: who it is, limits, read-back, a drill; ends with its settings',
    load: async () => (await import('./check.ts')).checkCommand,
  },
  {
    name: 'ready',
    summary: 'Shows the checks before a start of a tank, as the running daemon sees them',
    load: async () => (await import('./ready.ts')).readyCommand,
  },
  {
    name: 'off',
    summary: 'Switches a tank off, or all of them, and verifies it; the daemon may run or not',
    load: async () => (await import('./off.ts')).offCommand,
  },
  {
    name: 'interrupted',
    summary: 'Lists the runs that were cut short and wait for a decision, or ends one',
    load: async () => (await import('./interrupted.ts')).interruptedCommand,
  },
  {
    name: 'ledger',
    summary:
      'Shows the ledger of each bath: charge, additions due, anodes; the daemon may run or not',
    load: async () => (await import('./ledger.ts')).ledgerCommand,
  },
  {
    name: 'weigh',
    summary: 'Shows what a run really grew by mass or callipers, or saves the weigh-in of one',
    load: async () => (await import('./weigh.ts')).weighCommand,
  },
  {
    name: 'export',
    summary: 'Writes a run of the log as CSV or JSON; the daemon may run or not',
    load: async () => (await import('./export.ts')).exportCommand,
  },
  {
    name: 'alerts',
    summary: 'Lists the alert channels, sends a test on one, or takes the code of one that arrived',
    load: async () => (await import('./alerts.ts')).alertsCommand,
  },
  {
    name: 'verify',
    summary:
      'Looks at settings, database, ports and alert channels, one line each; changes nothing',
    load: async () => (await import('./verify.ts')).verifyCommand,
  },
  {
    name: 'passphrase',
    summary: 'Sets what browsers on the network have to sign in with',
    load: async () => (await import('./passphrase.ts')).passphraseCommand,
  },
  {
    name: 'backup',
    summary: 'Copies the log with its pieces and pictures to one file; the daemon may run or not',
    load: async () => (await import('./backup.ts')).backupCommand,
  },
  {
    name: 'restore',
    summary: 'Puts such a copy in the place of the log; what stood there is kept',
    load: async () => (await import('./backup.ts')).restoreCommand,
  },
  {
    name: 'rectifier',
    summary: 'Serves the simulated supply on TCP or on its standard streams',
    load: async () => (await import('./rectifier.ts')).rectifierCommand,
  },
];
