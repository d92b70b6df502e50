// Exports without a line of their own in "How exact it is", each with the reason. The script fails where one is neither checked nor here.

/** Folders that hold no statistics. */
export const FOLDERS = {
  assessments: 'reads and checks data',
  charts: 'draws what it is given',
  command: 'runs from a terminal',
  notebook: 'shows results',
  ratings: 'arranges readings',
  reports: 'writes results down',
  shared: 'forms of results; distributions have their own lines',
  signs: 'the codebook',
  study: 'carries out estimates that have their own lines',
};

const OWN_MODEL =
  'own model with weak priors, which no program has; a second formula at the same numbers stands in its test';
const DRAWN = 'random draws; what is drawn again has its own line';
const COUNTS = 'counts and shares of counts, exact by hand in its test';
const ARRANGES = 'arranges data for others';
const SHEETS = 'makes sheets and orders';
const OTHER_LINE = 'from other lines of this table';

export const NAMES = {
  crossTable: COUNTS,
  releasedCrossTable: COUNTS,
  splitRatings: ARRANGES,
  withinAndBetween: 'the comparison of two coefficients, `compareAgreement`',
  crossAssessorMatrix: COUNTS,
  measurementErrorText: 'writes numbers, which come back as they were (its test)',
  measurementErrorFromText: 'reads numbers back as they were (its test)',
  changeModelFit: OWN_MODEL,
  changeProbabilities: OWN_MODEL,
  hiddenPositionFit: OWN_MODEL,
  locatedClassFit: OWN_MODEL,
  latentClassFit: 'the fit behind `latentClassErrorRates`',
  positionModelFit: OWN_MODEL,
  readingErrorMatrices: OWN_MODEL,
  clusterBootstrap: DRAWN,
  modelBootstrap: DRAWN,
  readingBootstrap: DRAWN,
  sampledColumn: ARRANGES,
  sampledGroups: ARRANGES,
  pairedPatterns: ARRANGES,
  readingPatterns: ARRANGES,
  studyMix: 'a constant',
  simulateHiddenMarkov: 'random draws',
  cumulativeLinkMixedModelLong: 'the same digits as `cumulativeLinkMixedModel` (its test)',
  linearMixedModelLong: 'the same digits as `linearMixedModel` (its test)',
  changeCalls: `${OWN_MODEL}; bands by hand`,
  changeIntervals: DRAWN,
  dropoutBounds: `${COUNTS}; Wilson limits as \`percentAgreement\``,
  limbCourse: ARRANGES,
  limbCourses: ARRANGES,
  limbSlopes: 'least squares of one limb at a time, by hand in its test to 1e-12',
  serialChecks: COUNTS,
  sideRatings: ARRANGES,
  sustainedChange: COUNTS,
  transitionCounts: COUNTS,
  trendSeriesOf: ARRANGES,
  trueGradeCourses: OWN_MODEL,
  assessorOrder: SHEETS,
  captureCodes: SHEETS,
  captureSheet: SHEETS,
  captureWorkbook: SHEETS,
  ethicsPage: SHEETS,
  orderSheet: SHEETS,
  paperSheets: SHEETS,
  planStudy: SHEETS,
  ACTS: SHEETS,
  changeCalibration: 'simulation against a known truth',
  intervalCoverage: 'simulation against a known truth',
  precisionByPeople: 'simulation',
  simulateReadings: 'random draws',
  limitsOfAgreementSampleSize: `a whole number ${OTHER_LINE} (tolerance factors)`,
  classCarpet: COUNTS,
  classQuestions: COUNTS,
  classSession: ARRANGES,
  gradeVariety: COUNTS,
  gradingTendencies: 'by hand in its test to 1e-12',
  hardLimbs: COUNTS,
  learnerCard: COUNTS,
  learningCurve: `${OTHER_LINE} (\`bernoulliRunLength\`)`,
  retrainingEffect: 'by hand in its test to 1e-12',
  sessionPapers: SHEETS,
  sessionRota: SHEETS,
  techniqueComparison: 'by hand in its test to 1e-12',
  arrivalAndStay: COUNTS,
  boardPage: 'writes results down',
  changesSinceReport: COUNTS,
  reportedPeriods: COUNTS,
  clusteredProportionChart: 'by hand in its test to 1e-10, and equal to `proportionChart` with one reading a patient',
  completenessByPeriod: COUNTS,
  gradesByPeriod: COUNTS,
  meanSpreadChart: `${OTHER_LINE} (\`chartConstants\`), NIST's and published cases in its test`,
  casesBetweenChart: 'published cases in its test',
  timeBetweenChart: 'published cases in its test',
  patientReadings: ARRANGES,
  patientsOrAssessors: `${OTHER_LINE} (\`cumulativeLinkMixedModel\`)`,
  shareByPeriod: `${COUNTS}; Wilson limits as \`percentAgreement\``,
  unitCountsFromWarehouse: COUNTS,
  unitDefinition: 'writes a definition down',
};

/** Why a line has fewer than nine digits, by statistic and kind of reference. */
export const FEWER_DIGITS = {
  'intraclassCorrelation py':
    'a jackknife of coefficients that differ from 1, and from one another, by 1e-8: eight digits are left in doubles',
  'concordanceCorrelation py':
    'a jackknife of coefficients that differ from 1, and from one another, by 1e-8: eight digits are left in doubles',
  'linearMixedModel py':
    'powers of 1 to 20 up to the fifth as columns with large errors (Wampler 4 has 8.4); Longley has 13.8, Wampler 3 has 10.2, the mixed fits more than 9',
  'markovFit R':
    'the reference stops on the change of the likelihood, which fixes the intensities to about half as many digits',
  'hiddenMarkovFit R': 'as `markovFit`; the likelihood at given numbers has 15 digits',
  'cumulativeLinkMixedModel R':
    'the reference stops early where the likelihood is flat: ours is the higher one in every case; the likelihood at given numbers has its own line',
  'linearMixedModel R':
    'the reference stops on the change of the criterion; the same fits against 30 digits stand in the line above',
  'linearMixedProfile R': 'the reference interpolates between places of its profile by splines',
};
