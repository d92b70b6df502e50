#!/usr/bin/env node
import { readFileSync } from 'node:fs';
import { relative } from 'node:path';
import process, { stdin, stdout } from 'node:process';
import { createInterface } from 'node:readline/promises';
import { pathToFileURL } from 'node:url';
import { InputError, type Problem, problemSentence, refuse } from '../shared/input-error.js';

const USAGE = `limb-perfusion: from serial limb assessments to whether a changed grade is a changed limb.

  npx limb-perfusion start my-study     makes a folder for a study, with notebooks and invented example data
  npm start                             in it: runs the notebooks and writes their pages
  npm run study -- my-assessments.xlsx  runs those for which a file of your own has what they need
  npm run notebooks                     opens the notebooks in Jupyter
  npm run pages -- sheet.csv            writes a private page for each learner of a class
  npx limb-perfusion prepare            makes a clean copy of an export, without names and dates
  npx limb-perfusion set-up             finds Jupyter, or installs it
  npx limb-perfusion it-department      prints what to ask your IT department
  npx limb-perfusion archive            packs everything for a computer without a network

Nothing leaves this computer. It is not a medical device.`;

/** Where the person stands: npm runs a script in the folder of package.json and keeps the person's own here. */
const from = process.env.npm_lifecycle_event === undefined ? process.cwd() : (process.env.INIT_CWD ?? process.cwd());

const [command, ...words] = process.argv.slice(2);
run().then(
  (code) => {
    process.exitCode = code;
  },
  (error: unknown) => {
    if (!(error instanceof InputError)) throw error;
    // The error's own text stops at twenty; who mends a file wants them all.
    const [heading = ''] = error.message.split('\n', 1);
    process.stderr.write(`\n${heading}\n${problemLines(error.problems).join('\n')}\n`);
    process.exitCode = 1;
  },
);

async function run(): Promise<number> {
  checkNode();
  switch (command) {
    case 'start': {
      const { installPackages, startStudy } = await import('./start-study.js');
      const place = startStudy(oneWord('the name of the folder, such as my-study'), from);
      const name = relative(from, place);
      say(`The folder ${name} is made. Installing its packages …`);
      const failure = installPackages(place);
      if (failure !== undefined) {
        say(
          `npm could not install them: ${failure}\nWhen there is a connection, go into the folder and run npm install.`,
        );
        return 1;
      }
      say(
        `Done. Now:\n  cd ${/\s/.test(name) ? `"${name}"` : name}\n  npm start\nREADME.md in it says what comes next.`,
      );
      return 0;
    }
    case 'study': {
      const { runStudy } = await import('./run-study.js');
      const { into, minutesPerCell, sheet, rest } = takeOptions(words);
      if (rest.length > 1) throw tooManyWords();
      const place = await runStudy({
        from,
        ...(rest[0] === undefined ? {} : { file: rest[0] }),
        ...(into === undefined ? {} : { into }),
        ...(minutesPerCell === undefined ? {} : { minutesPerCell }),
        ...(sheet === undefined ? {} : { sheet }),
        say,
      });
      say(`\nThe reports are in ${pathToFileURL(place).href}/ — open them in any browser; they need no connection.`);
      return 0;
    }
    case 'notebooks': {
      const { openNotebooks } = await import('./open-notebooks.js');
      return openNotebooks(from, words, say);
    }
    case 'pages': {
      const { pagesCommand } = await import('./pages-command.js');
      if (words.length > 1) throw tooManyWords();
      await pagesCommand(from, words[0], say);
      return 0;
    }
    case 'prepare': {
      const { prepareCommand } = await import('./prepare-command.js');
      const terminal = stdin.isTTY ? createInterface({ input: stdin, output: stdout }) : undefined;
      try {
        await prepareCommand(words, {
          print: say,
          ...(terminal === undefined ? {} : { ask: (question) => terminal.question(question) }),
        });
      } finally {
        terminal?.close();
      }
      return 0;
    }
    case 'set-up': {
      const { installJupyter } = await import('./install-jupyter.js');
      const { checkKernel, kernelEnvironment } = await import('./kernel-environment.js');
      const { studyFolderAt } = await import('./study-folder.js');
      const { root } = studyFolderAt(from);
      checkKernel(root);
      kernelEnvironment(root);
      say(`Jupyter runs on ${installJupyter(root, say)}`);
      return 0;
    }
    case 'it-department': {
      say(readFileSync(new URL('../command/it-department.md', import.meta.url), 'utf8').trimEnd());
      return 0;
    }
    case 'archive': {
      const { makeArchive } = await import('./make-archive.js');
      const { path, megabytes, files, pythonPackages } = await makeArchive(from, say);
      say(`${path} is made: ${megabytes.toFixed(0)} MB, ${files} files, for ${process.platform} on ${process.arch}.
It holds the library, its packages, the notebooks and the invented data. On the other computer there must be Node 20.19 or newer and ${
        pythonPackages === undefined
          ? 'a Python with Jupyter (pip could not get it here, so it is not in the archive).'
          : `Python ${pythonPackages.python}; Jupyter is in the archive (${pythonPackages.count} Python packages).`
      }
There: tar -xzf the file, go into its folder, and run ./start.sh (on Windows start.cmd). Nothing of it needs a network.`);
      return 0;
    }
    case undefined:
    case 'help':
    case '--help':
      say(USAGE);
      return 0;
    default:
      throw refuse(
        'unknown-command',
        ['command'],
        'There is no such command.',
        'run npx limb-perfusion to see which there are.',
      );
  }
}

/** Every problem; one that stands in many rows is said once, with all of them. */
function problemLines(problems: readonly Problem[]): string[] {
  const rowsOf = new Map<string, number[]>();
  for (const { row, ...rest } of problems) {
    const same = JSON.stringify(rest);
    rowsOf.set(same, [...(rowsOf.get(same) ?? []), ...(row === undefined ? [] : [row])]);
  }
  return [...rowsOf].map(([same, rows]) => {
    const [row] = rows;
    const problem: Problem = JSON.parse(same);
    if (rows.length > 1) return `  rows ${rows.join(', ')}, ${problemSentence(problem)}`;
    return `  ${problemSentence(row === undefined ? problem : { row, ...problem })}`;
  });
}

function checkNode(): void {
  const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
  if (major > 20 || (major === 20 && minor >= 19)) return;
  throw refuse(
    'old-node',
    [],
    `This is Node ${process.versions.node}.`,
    'install Node 20.19 or newer from https://nodejs.org.',
  );
}

/** The options of `study`, and what stands beside them. */
function takeOptions(given: readonly string[]): {
  into?: string;
  minutesPerCell?: number;
  sheet?: string;
  rest: readonly string[];
} {
  const taken: Record<string, string> = {};
  const rest: string[] = [];
  for (let at = 0; at < given.length; at++) {
    const word = given[at]!;
    if (!word.startsWith('-')) {
      rest.push(word);
      continue;
    }
    const value = given[++at];
    if (value === undefined || !['--into', '--minutes-per-cell', '--sheet'].includes(word))
      throw refuse(
        'unknown-option',
        ['arguments'],
        'There is no such option.',
        'those there are: --into takes the name of a folder, --sheet that of a sheet, --minutes-per-cell how long a cell of a notebook may take.',
      );
    taken[word] = value;
  }
  const { '--into': into, '--minutes-per-cell': minutes, '--sheet': sheet } = taken;
  const minutesPerCell = Number(minutes);
  if (minutes !== undefined && !(minutesPerCell >= 0.1 && minutesPerCell <= 1440))
    throw refuse(
      'bad-option',
      ['arguments', '--minutes-per-cell'],
      'That is no number of minutes.',
      'write a number from 0.1 to 1440, as in --minutes-per-cell 30.',
    );
  return {
    ...(into === undefined ? {} : { into }),
    ...(minutes === undefined ? {} : { minutesPerCell }),
    ...(sheet === undefined ? {} : { sheet }),
    rest,
  };
}

function oneWord(what: string): string {
  if (words.length > 1) throw tooManyWords();
  const [word] = words;
  if (word === undefined)
    throw refuse('word-missing', ['arguments'], `Something is missing: ${what}.`, 'write it after the command.');
  return word;
}

function tooManyWords(): InputError {
  return refuse(
    'too-many-words',
    ['arguments'],
    'There is more than one name.',
    'put a name with spaces between quotation marks.',
  );
}

function say(line: string): void {
  stdout.write(`${line}\n`);
}
