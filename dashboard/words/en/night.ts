/** The words of the Night view. */

export const nightWords = {
  title: 'Night view',
  leave: 'Leave the night view',
  quiet: 'No run is under way.',
  of: (target: string) => `of ${target}`,
  left: (text: string) => `${text} left`,
  done: (at: string) => `done about ${at}`,
  noTime: 'No time left to tell.',
  screen: {
    asking: 'Asking the browser to keep the screen on.',
    held: 'The screen stays on while this page is in front.',
    address:
      'The screen may go dark: on this address the browser does not let a page keep it on. Set the phone itself to keep its screen on, and leave it on its charger.',
    browser:
      'The screen may go dark: this browser does not let a page keep it on. Set the phone itself to keep its screen on, and leave it on its charger.',
    refused:
      'The screen may go dark: the browser said no, often for a low battery. Put the phone on its charger and try again.',
  },
  again: 'Keep the screen on',
} as const;
