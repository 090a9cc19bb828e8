/** The page's entry: puts on the chosen look, opens the live connection, shows the shell. */

import { connection } from './connection.ts';
import { NightShell } from './shell.ts';
import { applyLook, chosenLook } from './theme.ts';

applyLook(chosenLook());
connection.start();
document.body.prepend(new NightShell());
