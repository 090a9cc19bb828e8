/** The words of the Alerts page. */

export const alertsWords = {
  title: 'Alerts',
  channels: 'Who is told outside',
  none: 'The settings name no channel, so nobody away from this page is told. The shipped bench.toml has an example of each kind.',
  kinds: { email: 'E-mail', webhook: 'Web address', command: 'Program', beeper: 'Beeper' },
  least: {
    note: 'Gets everything.',
    'act-soon': 'Gets what should be seen to soon, and what is grave.',
    stopped: 'Gets only what is grave.',
  },
  delivered: (when: string) => `Last delivery ${when}.`,
  neverDelivered: 'Nothing delivered yet.',
  arrived: (when: string) => `Last test that arrived: ${when}.`,
  neverArrived: 'No test to this address has arrived yet.',
  trouble: (why: string) => `The last try failed. ${why}`,
  test: 'Send a test',
  testing: 'A test is on its way.',
  code: 'A test has arrived: its code',
  codeHelp: 'Four digits. A message that was sent and never arrived looks just the same from here.',
  confirm: 'It has arrived',
  badCode: 'The code has four digits.',
  alarms: 'Alarms so far',
  noAlarms: 'No alarm yet.',
  open: 'Not acknowledged yet.',
  acknowledged: (when: string) => `Acknowledged ${when}.`,
  older: 'Older alarms',
} as const;
