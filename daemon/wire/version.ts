/** The version of everything on the wire; a page built for another version asks to be reloaded. */
export const wireVersion = 1;
