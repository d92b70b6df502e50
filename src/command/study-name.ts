import { InputError, type Problem } from '../shared/input-error.js';

/** What Windows keeps for its devices, also with an ending (`con.txt`). */
const DEVICE = /^(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9¹²³])(\.|$)/i;

/** Two hundred bytes leave room for the files within on every file system. */
const LONGEST = 120;

/**
 * The name of a study's folder, checked for all three systems at once, since a folder moves from one to another. Spaces
 * and letters of any language are fine. A letter with a mark is written as one character, as most systems do.
 *
 * @throws InputError `bad-name`, every problem at once
 */
export function checkStudyName(name: string): string {
  const clean = name.normalize('NFC');
  const problems: Problem[] = faultsOf(clean).map(({ message, mend }) => ({
    code: 'bad-name',
    path: ['name'],
    message,
    mend,
  }));
  if (problems.length > 0) throw new InputError(problems, 'The folder cannot have that name:');
  return clean;
}

function faultsOf(name: string): { message: string; mend: string }[] {
  if (name.trim() === '') return [{ message: 'The name is empty.', mend: 'write one, such as my-study.' }];
  const faults: { message: string; mend: string }[] = [];
  const say = (message: string, mend: string) => faults.push({ message, mend });
  if (/[\\/]/.test(name) || /^[a-z]:/i.test(name) || name === '..' || name === '.')
    say(
      'It is a path and not a name.',
      'go to the folder that shall hold the study first (cd), then give a name alone.',
    );
  else if (/[<>:"|?*%]/.test(name)) say('It holds one of < > : " | ? * %.', 'use letters, digits, spaces and hyphens.');
  if ([...name].some((character) => character < ' ' || character === '\u007f'))
    say('It holds a character that cannot be seen.', 'type it anew.');
  if (DEVICE.test(name.trimEnd())) say('Windows keeps that name for a device.', 'add a word, such as con-study.');
  if (/^[.\-~]/.test(name) && name !== '..' && name !== '.')
    say('It begins with a dot, a hyphen or a tilde.', 'begin with a letter or a digit.');
  if (/[. ]$/.test(name) && name !== '..' && name !== '.')
    say('It ends with a dot or a space, which Windows drops.', 'end with a letter or a digit.');
  if (/^ /.test(name)) say('It begins with a space.', 'begin with a letter or a digit.');
  if (/^node_modules$/i.test(name)) say('npm keeps that name for packages.', 'choose another.');
  if (Buffer.byteLength(name) > LONGEST) say('It is too long.', 'use at most 60 letters.');
  return faults;
}
