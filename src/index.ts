export type { AdjustForMultiplicityOptions } from './agreement/adjust-for-multiplicity.js';
export { adjustForMultiplicity } from './agreement/adjust-for-multiplicity.js';
export type { AgreementCoefficient, CoefficientChoice } from './agreement/agreement-coefficient.js';
export { bhapkarTest } from './agreement/bhapkar-test.js';
export { bowkerTest } from './agreement/bowker-test.js';
export type { BrennanPredigerOptions } from './agreement/brennan-prediger.js';
export { brennanPrediger } from './agreement/brennan-prediger.js';
export type { CategoryEstimates } from './agreement/category-estimates.js';
export type { CohenKappaOptions } from './agreement/cohen-kappa.js';
export { cohenKappa } from './agreement/cohen-kappa.js';
export type {
  AgreementComparison,
  AgreementContrast,
  CompareAgreementOptions,
  ComparedGroup,
} from './agreement/compare-agreement.js';
export { compareAgreement, splitRatings } from './agreement/compare-agreement.js';
export type { ConcordanceCorrelationOptions } from './agreement/concordance-correlation.js';
export { concordanceCorrelation } from './agreement/concordance-correlation.js';
export type { CongerKappaOptions } from './agreement/conger-kappa.js';
export { congerKappa } from './agreement/conger-kappa.js';
export type { CrossTable } from './agreement/cross-table.js';
export { crossTable } from './agreement/cross-table.js';
export type { FleissKappaOptions } from './agreement/fleiss-kappa.js';
export { fleissKappa } from './agreement/fleiss-kappa.js';
export { fleissKappaByCategory } from './agreement/fleiss-kappa-by-category.js';
export type { GwetAgreementOptions } from './agreement/gwet-agreement.js';
export { gwetAgreement } from './agreement/gwet-agreement.js';
export type { IntraclassCorrelationOptions, IntraclassForm } from './agreement/intraclass-correlation.js';
export { intraclassCorrelation } from './agreement/intraclass-correlation.js';
export type { IntraclassCorrelationTestOptions } from './agreement/intraclass-correlation-test.js';
export { intraclassCorrelationTest } from './agreement/intraclass-correlation-test.js';
export type { KappaGoodnessOfFitIntervalOptions } from './agreement/kappa-goodness-of-fit-interval.js';
export { kappaGoodnessOfFitInterval } from './agreement/kappa-goodness-of-fit-interval.js';
export type { KendallTauOptions } from './agreement/kendall-tau.js';
export { kendallTau } from './agreement/kendall-tau.js';
export type { KendallWOptions } from './agreement/kendall-w.js';
export { kendallW } from './agreement/kendall-w.js';
export type { AlphaMetric, KrippendorffAlphaOptions } from './agreement/krippendorff-alpha.js';
export { krippendorffAlpha } from './agreement/krippendorff-alpha.js';
export type {
  ErrorRate,
  LatentClassErrorRates,
  LatentClassErrorRatesOptions,
} from './agreement/latent-class-error-rates.js';
export { latentClassErrorRates } from './agreement/latent-class-error-rates.js';
export type { LightKappaOptions } from './agreement/light-kappa.js';
export { lightKappa } from './agreement/light-kappa.js';
export type { LimitsOfAgreementOptions } from './agreement/limits-of-agreement.js';
export { LimitsOfAgreement, limitsOfAgreement } from './agreement/limits-of-agreement.js';
export type { MarginalShift, MarginalShiftOptions } from './agreement/marginal-shift.js';
export { marginalShift } from './agreement/marginal-shift.js';
export type { McnemarTestOptions } from './agreement/mcnemar-test.js';
export { mcnemarTest } from './agreement/mcnemar-test.js';
export type { PairwiseAgreement, PairwiseAgreementOptions } from './agreement/pairwise-agreement.js';
export { pairwiseAgreement } from './agreement/pairwise-agreement.js';
export type { PercentAgreementOptions } from './agreement/percent-agreement.js';
export { percentAgreement } from './agreement/percent-agreement.js';
export type { ReleasedCrossTable, ReleaseOptions } from './agreement/released-cross-table.js';
export { releasedCrossTable } from './agreement/released-cross-table.js';
export type { RepeatabilityOptions } from './agreement/repeatability.js';
export { repeatability } from './agreement/repeatability.js';
export type { ReproducibilityOptions } from './agreement/reproducibility.js';
export { reproducibility } from './agreement/reproducibility.js';
export type { ScottPiOptions } from './agreement/scott-pi.js';
export { scottPi } from './agreement/scott-pi.js';
export type { SmallestDetectableChangeOptions } from './agreement/smallest-detectable-change.js';
export { smallestDetectableChange } from './agreement/smallest-detectable-change.js';
export type { SpecificAgreement } from './agreement/specific-agreement.js';
export { specificAgreement } from './agreement/specific-agreement.js';
export type { ErrorKind, StandardErrorOfMeasurementOptions } from './agreement/standard-error-of-measurement.js';
export { standardErrorOfMeasurement } from './agreement/standard-error-of-measurement.js';
export { stuartMaxwellTest } from './agreement/stuart-maxwell-test.js';
export type { SymmetryTestOptions } from './agreement/symmetry-result.js';
export type { VarianceComponentsOptions } from './agreement/variance-components.js';
export { VarianceComponents, varianceComponents } from './agreement/variance-components.js';
export type { Weights } from './agreement/weights.js';
export type { WithinAndBetween, WithinAndBetweenOptions } from './agreement/within-and-between.js';
export { withinAndBetween } from './agreement/within-and-between.js';
export type { ArrowTable } from './assessments/arrow-table.js';
export type {
  AssessmentFilter,
  AssessmentRow,
  AssessmentsSource,
  DataFrame,
  TextColumn,
} from './assessments/assessments.js';
export { Assessments } from './assessments/assessments.js';
export { compareTypings } from './assessments/compare-typings.js';
export type { DateOrder } from './assessments/export-dates.js';
export type { CodeMeaning } from './assessments/fhir-codes.js';
export type { FhirObservations, FhirObservationsOptions } from './assessments/fhir-observations.js';
export { fhirObservations } from './assessments/fhir-observations.js';
export type { FilesAsTableOptions } from './assessments/files-as-table.js';
export { filesAsTable } from './assessments/files-as-table.js';
export type { InputColumn } from './assessments/input-columns.js';
export { INPUT_COLUMNS } from './assessments/input-columns.js';
export type { AssessmentSource } from './assessments/load-assessments.js';
export { loadAssessments } from './assessments/load-assessments.js';
export type { FhirOptions, LoadOptions, ScaleChoice } from './assessments/load-options.js';
export type { LoadUnitTableOptions, UnitTableRow } from './assessments/load-unit-table.js';
export { loadUnitTable } from './assessments/load-unit-table.js';
export type { MissingReason } from './assessments/missing-reason.js';
export { MISSING_REASONS } from './assessments/missing-reason.js';
export type {
  CodeKey,
  ColumnTreatment,
  PreparedExport,
  PrepareOptions,
} from './assessments/prepare-export.js';
export { prepareExport } from './assessments/prepare-export.js';
export type { PreviewSheetOptions } from './assessments/preview-sheet.js';
export { previewSheet } from './assessments/preview-sheet.js';
export type { ReadSheetOptions, Sheet } from './assessments/read-sheet.js';
export { readSheet } from './assessments/read-sheet.js';
export { rescale } from './assessments/rescale.js';
export type {
  BlankMeaning,
  CellCorrection,
  CellMeaning,
  SheetFinding,
  SheetLayout,
} from './assessments/sheet-layout.js';
export type { SheetAnswers, SheetQuestion } from './assessments/sheet-preview.js';
export { SheetPreview } from './assessments/sheet-preview.js';
export type { SqlEngine, SqlOptions, SqlRow, SqlTable } from './assessments/sql-table.js';
export { agreementByPeriodChart } from './charts/agreement-by-period-chart.js';
export type { AgreementBySiteOptions } from './charts/agreement-by-site-chart.js';
export { agreementBySiteChart } from './charts/agreement-by-site-chart.js';
export { arrivalAndStayChart } from './charts/arrival-and-stay-chart.js';
export { beforeAndAfterChart } from './charts/before-and-after-chart.js';
export { boardPageChart } from './charts/board-page-chart.js';
export { calibrationChart } from './charts/calibration-chart.js';
export { changeCallsChart } from './charts/change-calls-chart.js';
export type { ChartFields, ChartSpec } from './charts/chart.js';
export { Chart } from './charts/chart.js';
export { classCarpetChart } from './charts/class-carpet-chart.js';
export type { ControlLimitsOptions } from './charts/control-limits-chart.js';
export { controlLimitsChart } from './charts/control-limits-chart.js';
export { coverageChart } from './charts/coverage-chart.js';
export type { DifferencesOptions, PairLimits } from './charts/differences-chart.js';
export { differencesChart } from './charts/differences-chart.js';
export type { FunnelChartOptions } from './charts/funnel-chart.js';
export { funnelChart } from './charts/funnel-chart.js';
export { gradesByPeriodChart } from './charts/grades-by-period-chart.js';
export type { HabitBarsOptions } from './charts/habit-bars-chart.js';
export { habitBarsChart } from './charts/habit-bars-chart.js';
export type { HardLimbsChartOptions } from './charts/hard-limbs-chart.js';
export { hardLimbsChart } from './charts/hard-limbs-chart.js';
export type { IntervalCensoredChartOptions } from './charts/interval-censored-chart.js';
export { intervalCensoredChart } from './charts/interval-censored-chart.js';
export { learnerCardChart } from './charts/learner-card-chart.js';
export { limbCourseChart } from './charts/limb-course-chart.js';
export { limbCoursesChart } from './charts/limb-courses-chart.js';
export type { LinkedChartsOptions } from './charts/linked-charts.js';
export { linkedCharts } from './charts/linked-charts.js';
export { MARK_KEYS } from './charts/mark-keys.js';
export { pairwiseAgreementChart } from './charts/pairwise-agreement-chart.js';
export type { PlanningCurveOptions } from './charts/planning-curve-chart.js';
export { planningCurveChart } from './charts/planning-curve-chart.js';
export type { SvgOptions } from './charts/render.js';
export { renderPdf, renderPng, renderSvg } from './charts/render.js';
export type { SaveOptions } from './charts/save.js';
export { save } from './charts/save.js';
export type { ShareByPeriodChartOptions } from './charts/share-by-period-chart.js';
export { shareByPeriodChart } from './charts/share-by-period-chart.js';
export type { NamedCurve, SurvivalChartOptions } from './charts/survival-chart.js';
export { survivalChart } from './charts/survival-chart.js';
export { tableHtml, tableMarkdown } from './charts/table-html.js';
export type { ChartOptions } from './charts/theme.js';
export type { TransitionsChartOptions } from './charts/transitions-chart.js';
export { transitionsChart } from './charts/transitions-chart.js';
export type { TrueGradeChartOptions } from './charts/true-grade-chart.js';
export { trueGradeChart } from './charts/true-grade-chart.js';
export type { WhoReadWhatOptions } from './charts/who-read-what-chart.js';
export { whoReadWhatChart } from './charts/who-read-what-chart.js';
export { withinAndBetweenChart } from './charts/within-and-between-chart.js';
export type { Conversation, PrepareAnswers } from './command/prepare-command.js';
export { prepareCommand } from './command/prepare-command.js';
export { writeLearnerPages } from './command/write-learner-pages.js';
export type { CrossAssessorMatrix } from './measurement-error/cross-assessor-matrix.js';
export { crossAssessorMatrix } from './measurement-error/cross-assessor-matrix.js';
export { measurementErrorFromText, measurementErrorText } from './measurement-error/measurement-error-file.js';
export type {
  GradeError,
  LengthError,
  MeasurementError,
  MeasurementErrorOptions,
} from './measurement-error/measurement-error-of.js';
export { measurementErrorOf } from './measurement-error/measurement-error-of.js';
export type { ReadingError } from './measurement-error/reading-error.js';
export type { CensoredCode, SerialReadings } from './models/chain-data.js';
export type { FitReport, StartOptions } from './models/chain-fit.js';
export type {
  ChangeModel,
  ChangeModelFit,
  ChangeProbabilities,
  ChangeShares,
  CompiledPairs,
  PairedReadings,
  TruthKind,
  TruthPlaces,
} from './models/change-model.js';
export { changeModelFit, changeProbabilities, pairedPatterns } from './models/change-model.js';
export type {
  ClusterBootstrap,
  ClusterBootstrapOptions,
  ClusterSample,
  PortableStatistic,
  SampleStatistic,
} from './models/cluster-bootstrap.js';
export { clusterBootstrap, sampledColumn, sampledGroups } from './models/cluster-bootstrap.js';
export type { CumulativeLinkProblem, Link } from './models/cumulative-link.js';
export type { CumulativeLinkMixedFit, CumulativeLinkMixedProblem } from './models/cumulative-link-mixed-model.js';
export {
  cumulativeLinkMixedLogLikelihood,
  cumulativeLinkMixedModel,
  cumulativeLinkMixedModelLong,
} from './models/cumulative-link-mixed-model.js';
export type { CumulativeLinkEstimates, CumulativeLinkFit, VaryingEffect } from './models/cumulative-link-model.js';
export { cumulativeLinkLogLikelihood, cumulativeLinkModel } from './models/cumulative-link-model.js';
export type { NamedColumns } from './models/design-columns.js';
export type { GradeChange, GradeChangeModel } from './models/grade-change.js';
export { gradeChange } from './models/grade-change.js';
export type { GroupEffects } from './models/group-effects.js';
export type { HiddenMarkovFit, HiddenMarkovFitOptions } from './models/hidden-markov-fit.js';
export { hiddenMarkovFit } from './models/hidden-markov-fit.js';
export type { HiddenMarkovModel } from './models/hidden-markov-model.js';
export { hiddenMarkovLogLikelihood } from './models/hidden-markov-model.js';
export type { HiddenPositionFit, HiddenPositionFitOptions } from './models/hidden-position-fit.js';
export { hiddenPositionFit } from './models/hidden-position-fit.js';
export type { HiddenStates } from './models/hidden-states.js';
export { hiddenStates } from './models/hidden-states.js';
export type { IntensityEstimates, ValueWithLimits } from './models/intensities.js';
export { transitionProbabilities } from './models/intensities.js';
export type { LatentClassFit, LatentClassOptions, LikelihoodMaximum } from './models/latent-class-fit.js';
export { latentClassFit } from './models/latent-class-fit.js';
export type { FixedEffect, LinearMixedFit, LinearMixedProblem } from './models/linear-mixed-model.js';
export { linearMixedCriterion, linearMixedModel, linearMixedModelLong } from './models/linear-mixed-model.js';
export type { LinearMixedProfile, ProfileInterval } from './models/linear-mixed-profile.js';
export { linearMixedProfile } from './models/linear-mixed-profile.js';
export type { LocatedClassFit, LocatedClassOptions } from './models/located-class-fit.js';
export { locatedClassFit } from './models/located-class-fit.js';
export type { LogisticGeeFit, LogisticGeeProblem } from './models/logistic-gee.js';
export { logisticGee } from './models/logistic-gee.js';
export type { MarkovFit, MarkovFitOptions } from './models/markov-fit.js';
export { markovFit, markovLogLikelihood } from './models/markov-fit.js';
export type { ModelBootstrap, ModelProblem } from './models/model-bootstrap.js';
export { modelBootstrap } from './models/model-bootstrap.js';
export type { Convergence, StoppedBy } from './models/optimize.js';
export type { PositionModelFit, PositionModelOptions } from './models/position-model-fit.js';
export { positionModelFit } from './models/position-model-fit.js';
export type { ProportionalOddsCheck, ProportionalOddsTest } from './models/proportional-odds-check.js';
export { proportionalOddsCheck } from './models/proportional-odds-check.js';
export type { RandomTerm } from './models/random-terms.js';
export type { ReadingBootstrap, ReadingBootstrapOptions, ReadingDraw } from './models/reading-bootstrap.js';
export { readingBootstrap } from './models/reading-bootstrap.js';
export type { PositionMix } from './models/reading-error-matrices.js';
export { readingErrorMatrices, studyMix } from './models/reading-error-matrices.js';
export type { ReadingPriors } from './models/reading-layer.js';
export type { ReadingPatterns, TargetReadings } from './models/reading-patterns.js';
export { readingPatterns } from './models/reading-patterns.js';
export type { ReadingParameters } from './models/reading-probabilities.js';
export type { SimulatedReadings, VisitSchedule } from './models/simulate-hidden-markov.js';
export { simulateHiddenMarkov } from './models/simulate-hidden-markov.js';
export type { TransitionShare, TransitionShares } from './models/transition-shares.js';
export { transitionShares } from './models/transition-shares.js';
export type { Coefficient, VarianceComponent } from './models/variance-component.js';
export type { CheckedSettings, SettingRule } from './notebook/check-settings.js';
export { checkSettings, setting } from './notebook/check-settings.js';
export type { LongWork } from './notebook/long-work.js';
export { longWork } from './notebook/long-work.js';
export { show } from './notebook/show.js';
export type { AssessorOrderOptions } from './planning/assessor-order.js';
export { assessorOrder } from './planning/assessor-order.js';
export { captureCodes } from './planning/capture-codes.js';
export { captureSheet } from './planning/capture-sheet.js';
export { captureWorkbook } from './planning/capture-workbook.js';
export type {
  CalibrationByChance,
  CalibrationTenth,
  ChanceKind,
  ChangeCalibrationOptions,
  RuleRecord,
} from './planning/change-calibration.js';
export { ChangeCalibration, changeCalibration } from './planning/change-calibration.js';
export { ethicsPage } from './planning/ethics-page.js';
export type { GradedKappaSampleSizeOptions } from './planning/graded-kappa-sample-size.js';
export { gradedKappaSampleSize } from './planning/graded-kappa-sample-size.js';
export type { IntervalCoverageOptions, IntervalCoverageRow } from './planning/interval-coverage.js';
export { IntervalCoverage, intervalCoverage } from './planning/interval-coverage.js';
export type { IntraclassPrecisionSampleSizeOptions } from './planning/intraclass-precision-sample-size.js';
export { intraclassPrecisionSampleSize } from './planning/intraclass-precision-sample-size.js';
export type { IntraclassSampleSizeOptions } from './planning/intraclass-sample-size.js';
export { intraclassSampleSize } from './planning/intraclass-sample-size.js';
export type { KappaGoodnessOfFitSampleSizeOptions } from './planning/kappa-goodness-of-fit-sample-size.js';
export { kappaGoodnessOfFitSampleSize } from './planning/kappa-goodness-of-fit-sample-size.js';
export type { KappaPrecisionSampleSizeOptions } from './planning/kappa-precision-sample-size.js';
export { kappaPrecisionSampleSize } from './planning/kappa-precision-sample-size.js';
export type { KappaSampleSizeOptions } from './planning/kappa-sample-size.js';
export { kappaSampleSize } from './planning/kappa-sample-size.js';
export type { LimitsOfAgreementSampleSizeOptions } from './planning/limits-of-agreement-sample-size.js';
export { limitsOfAgreementSampleSize } from './planning/limits-of-agreement-sample-size.js';
export type { Act } from './planning/order-of-acts.js';
export { ACTS } from './planning/order-of-acts.js';
export { orderSheet } from './planning/order-sheet.js';
export { paperSheets } from './planning/paper-sheets.js';
export type { PatientsNeeded, PatientsNeededOptions } from './planning/patients-needed.js';
export { patientsNeeded } from './planning/patients-needed.js';
export type {
  PlannedExamination,
  PlannedFinding,
  PlannedSign,
  StudyDesign,
  StudyEffort,
  StudyPlan,
} from './planning/plan-study.js';
export { planStudy } from './planning/plan-study.js';
export type { PrecisionByPeople, PrecisionByPeopleOptions, PrecisionRow } from './planning/precision-by-people.js';
export { precisionByPeople } from './planning/precision-by-people.js';
export type { ReadingsPerVisit, ReadingsPerVisitOptions } from './planning/readings-per-visit.js';
export { readingsPerVisit } from './planning/readings-per-visit.js';
export type { SampleSize, TestedSampleSize } from './planning/sample-size.js';
export type { ReadingAssumptions, SimulatedDesign } from './planning/simulate-readings.js';
export { simulateReadings } from './planning/simulate-readings.js';
export type { CompetingTimes, IncidenceStep } from './progression/aalen-johansen.js';
export { cumulativeIncidence } from './progression/aalen-johansen.js';
export type { ChangeCall, ChangeCalls, LimbChange } from './progression/change-calls.js';
export { changeCalls } from './progression/change-calls.js';
export type { ChangeIntervals } from './progression/change-intervals.js';
export { changeIntervals } from './progression/change-intervals.js';
export type { ChangeProbability, ChangeProbabilityOptions } from './progression/change-probability.js';
export type { CoxRegression, CoxRegressionOptions } from './progression/cox-regression.js';
export { coxRegression } from './progression/cox-regression.js';
export type { DropoutBounds, DropoutBoundsOptions } from './progression/dropout-bounds.js';
export { dropoutBounds } from './progression/dropout-bounds.js';
export type { EventTimes } from './progression/event-times.js';
export { falseProgressionRate } from './progression/false-progression-rate.js';
export type { IntervalCensoredCurve } from './progression/interval-censored.js';
export { intervalCensoredCurve } from './progression/interval-censored.js';
export type { KaplanMeierOptions, SurvivalCurve } from './progression/kaplan-meier.js';
export { kaplanMeier } from './progression/kaplan-meier.js';
export type { CourseChange, CourseReading, LimbCourse } from './progression/limb-course.js';
export { limbCourse } from './progression/limb-course.js';
export { limbCourses } from './progression/limb-courses.js';
export type { LimbSlope } from './progression/limb-slopes.js';
export { LimbSlopes, limbSlopes } from './progression/limb-slopes.js';
export { logRankTest } from './progression/log-rank-test.js';
export type { MannKendallResult, TrendSeries } from './progression/mann-kendall-test.js';
export { mannKendallTest } from './progression/mann-kendall-test.js';
export { nelsonAalen } from './progression/nelson-aalen.js';
export { regressionToTheMean } from './progression/regression-to-the-mean.js';
export type { SerialChecks } from './progression/serial-checks.js';
export { serialChecks } from './progression/serial-checks.js';
export { sideRatings } from './progression/side-ratings.js';
export type { Superiority } from './progression/superiority.js';
export { superiority } from './progression/superiority.js';
export type { SustainedChange, SustainedChangeRule } from './progression/sustained-change.js';
export { sustainedChange } from './progression/sustained-change.js';
export { theilSenSlope } from './progression/theil-sen-slope.js';
export type { TransitionCounts, TransitionCountsOptions } from './progression/transition-counts.js';
export { transitionCounts } from './progression/transition-counts.js';
export type { NamedTrendSeries, TrendSeriesOptions } from './progression/trend-series-of.js';
export { trendSeriesOf } from './progression/trend-series-of.js';
export type { TrueGradeCourse, TrueGradeCourses } from './progression/true-grade-courses.js';
export { trueGradeCourses } from './progression/true-grade-courses.js';
export type { CategoryInput } from './ratings/rating-categories.js';
export type { RatingCategory, RatingsLevel, RatingsSubject, RepeatReading } from './ratings/ratings.js';
export { Ratings } from './ratings/ratings.js';
export type { RatingsFromOptions, SameTarget } from './ratings/ratings-from.js';
export { ratingsFrom } from './ratings/ratings-from.js';
export type { WarehouseAttribute, WarehouseRatingsOptions } from './ratings/ratings-from-warehouse.js';
export { ratingsFromWarehouse } from './ratings/ratings-from-warehouse.js';
export type { RatingsOfOptions } from './ratings/ratings-of.js';
export { ratingsOf } from './ratings/ratings-of.js';
export type { RatingsOfCountsOptions } from './ratings/ratings-of-counts.js';
export { ratingsOfCounts } from './ratings/ratings-of-counts.js';
export type { RatingsOfTableOptions } from './ratings/ratings-of-table.js';
export { ratingsOfTable } from './ratings/ratings-of-table.js';
export type { ForAudienceOptions } from './reports/for-audience.js';
export { forAudience } from './reports/for-audience.js';
export { learnerPage } from './reports/learner-page.js';
export { measurementTerms } from './reports/measurement-terms.js';
export type { ReportBackground } from './reports/methods-text.js';
export { methodsText } from './reports/methods-text.js';
export { papersPage } from './reports/papers-page.js';
export { findChromium, printPdf } from './reports/print-pdf.js';
export type { QualityImprovementBackground } from './reports/quality-improvement-elements.js';
export { qualityImprovementElements } from './reports/quality-improvement-elements.js';
export type { Report } from './reports/report-files.js';
export { writeReport } from './reports/report-files.js';
export { reportingGuideline } from './reports/reporting-guideline.js';
export type { ResultSentence } from './reports/result-sentences.js';
export { resultSentences } from './reports/result-sentences.js';
export { resultsFile } from './reports/results-file.js';
export type { BundleOptions } from './reports/share-bundle.js';
export { writeBundle, writeStudyBundle } from './reports/share-bundle.js';
export type { StudyReportOptions } from './reports/study-report.js';
export { studyReport } from './reports/study-report.js';
export type { UnitReportOptions } from './reports/unit-report.js';
export { unitReport } from './reports/unit-report.js';
export type { Audience, FullRelease, MadeFor } from './shared/audience.js';
export type { CautionName } from './shared/cautions.js';
export { CAUTIONS } from './shared/cautions.js';
export type { Counts, EstimateFields, EstimateRow, Interval } from './shared/estimate.js';
export { Estimate } from './shared/estimate.js';
export type { Problem } from './shared/input-error.js';
export { InputError } from './shared/input-error.js';
export type { Note } from './shared/note.js';
export type { IntervalMethod, IntervalOptions, LongWorkOptions } from './shared/options.js';
export type { Cell, TableColumn } from './shared/table.js';
export { Table } from './shared/table.js';
export { TestResult } from './shared/test-result.js';
export { codebook, scaleOf, signOf } from './signs/codebook.js';
export { codebookPage } from './signs/codebook-page.js';
export type { OwnScale } from './signs/own-scale.js';
export { ownScale } from './signs/own-scale.js';
export { indexBand } from './signs/pressure.js';
export type { ScaleMapping } from './signs/scale-mapping.js';
export { mapCategory, oneScale, safeMappings } from './signs/scale-mapping.js';
export type {
  Category,
  Direction,
  Evidence,
  Level,
  Limb,
  Limit,
  Normal,
  Scale,
  Sign,
  Site,
} from './signs/sign.js';
export { limbs, siteOf, sites } from './signs/site.js';
export type { Code, SidedCodes } from './signs/terminology.js';
export { categoryCodes, limbCodes, methodCodes, sideCodes, signCodes, siteCodes } from './signs/terminology.js';
export type { AgreementPlan, PlanAmendment, StudyGroup } from './study/agreement-plan.js';
export type { AgreementByGroup, AgreementStudy, StudyResult } from './study/agreement-study.js';
export { agreementStudy } from './study/agreement-study.js';
export type { PlannedAnalysis, PlannedStudy } from './study/plan-file.js';
export { loadPlan, planFile } from './study/plan-file.js';
export type { BernoulliRunLength, BernoulliSteps } from './teaching/bernoulli-run-length.js';
export { bernoulliRunLength } from './teaching/bernoulli-run-length.js';
export type { CarpetMark, ClassCarpet, ClassCarpetOptions } from './teaching/class-carpet.js';
export { classCarpet } from './teaching/class-carpet.js';
export type { ClassQuestion, ClassQuestions } from './teaching/class-questions.js';
export { classQuestions } from './teaching/class-questions.js';
export type { ClassLimb, ClassSession, ClassSessionOptions, ReferenceRange } from './teaching/class-session.js';
export { classSession } from './teaching/class-session.js';
export type { CumulativeAgreement } from './teaching/cumulative-agreement.js';
export { cumulativeAgreement } from './teaching/cumulative-agreement.js';
export type { CumulativeFailures, CumulativeFailuresOptions } from './teaching/cumulative-failures.js';
export { cumulativeFailures } from './teaching/cumulative-failures.js';
export type { GradeVariety } from './teaching/grade-variety.js';
export { gradeVariety } from './teaching/grade-variety.js';
export type { GradingTendencies, GradingTendenciesOptions, GradingTendency } from './teaching/grading-tendencies.js';
export { gradingTendencies } from './teaching/grading-tendencies.js';
export type { HardLimb, HardLimbs } from './teaching/hard-limbs.js';
export { hardLimbs } from './teaching/hard-limbs.js';
export type { LearnerCard, LearnerLimb } from './teaching/learner-card.js';
export { learnerCard } from './teaching/learner-card.js';
export type { LearningCurve, LearningCurveOptions } from './teaching/learning-curve.js';
export { learningCurve } from './teaching/learning-curve.js';
export type { BeforeAndAfter, RetrainingEffect, RetrainingEffectOptions } from './teaching/retraining-effect.js';
export { retrainingEffect } from './teaching/retraining-effect.js';
export type { SessionPaper } from './teaching/session-papers.js';
export { sessionPapers } from './teaching/session-papers.js';
export type { RotaVisit, SessionRota, SessionRotaOptions } from './teaching/session-rota.js';
export { sessionRota } from './teaching/session-rota.js';
export type { TechniqueComparison, TechniqueCount } from './teaching/technique-comparison.js';
export { techniqueComparison } from './teaching/technique-comparison.js';
export type { ArrivalAndStay, ArrivalAndStayOptions, CountedShare } from './unit-quality/arrival-and-stay.js';
export { arrivalAndStay } from './unit-quality/arrival-and-stay.js';
export type { Autocorrelation } from './unit-quality/autocorrelation.js';
export { autocorrelation } from './unit-quality/autocorrelation.js';
export type { BoardPage, BoardPageOptions } from './unit-quality/board-page.js';
export { boardPage } from './unit-quality/board-page.js';
export type { ChangesSinceReport, ReportedPeriod } from './unit-quality/changes-since-report.js';
export { changesSinceReport, reportedPeriods } from './unit-quality/changes-since-report.js';
export { chartConstants } from './unit-quality/chart-constants.js';
export type { PatientReadings } from './unit-quality/clustered-proportion-chart.js';
export { clusteredProportionChart } from './unit-quality/clustered-proportion-chart.js';
export type { CompletenessByPeriod } from './unit-quality/completeness-by-period.js';
export { completenessByPeriod } from './unit-quality/completeness-by-period.js';
export type { BaselineOptions, ControlChart, ControlPoint } from './unit-quality/control-chart.js';
export { cumulativeSumChart } from './unit-quality/cumulative-sum-chart.js';

export { funnel } from './unit-quality/funnel.js';
export type { GradesByPeriod, GradesSegment, PeriodGrades } from './unit-quality/grades-by-period.js';
export { gradesByPeriod } from './unit-quality/grades-by-period.js';
export { individualsChart } from './unit-quality/individuals-chart.js';
export { meanSpreadChart } from './unit-quality/mean-spread-chart.js';
export { movingAverageChart } from './unit-quality/moving-average-chart.js';
export { patientReadings } from './unit-quality/patient-readings.js';
export type { PatientsOrAssessorsOptions, VarianceShares } from './unit-quality/patients-or-assessors.js';
export { PatientsOrAssessors, patientsOrAssessors } from './unit-quality/patients-or-assessors.js';
export { proportionChart } from './unit-quality/proportion-chart.js';
export { casesBetweenChart, timeBetweenChart } from './unit-quality/rare-event-chart.js';
export { rateChart } from './unit-quality/rate-chart.js';
export type { RunChart, RunChartOptions } from './unit-quality/run-chart.js';
export { runChart } from './unit-quality/run-chart.js';
export { averageRunLength, cumulativeSumRunLength, movingAverageRunLength } from './unit-quality/run-length.js';
export type { PeriodShare, ShareByPeriod, ShareByPeriodOptions, ShareSegment } from './unit-quality/share-by-period.js';
export { shareByPeriod } from './unit-quality/share-by-period.js';
export type { Counted, UnitCell, UnitCountOptions, UnitCounts } from './unit-quality/unit-counts.js';
export { unitCountsFromWarehouse } from './unit-quality/unit-counts-from-warehouse.js';
export type { UnitDefinitionOptions } from './unit-quality/unit-definition.js';
export { unitDefinition } from './unit-quality/unit-definition.js';
export type { UnitDenominator, UnitPeriodOptions } from './unit-quality/unit-periods.js';
