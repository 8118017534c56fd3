// Package dropoff answers: where in the day's offices did the reader stop, and
// how sure is that?
//
// [Segment] finds changes of level along a series, with an interval and a
// probability for each place, and says whether they look abrupt or gradual.
// [DeclineOf] gives wear as a share of that of the first office of
// the day to each later one. [FindSharedChange] looks for a drop-off that several books
// share, [Differ] compares two readers, [HabitsOf] proposes where in a whole
// book the level of wear changes. [Compare] and [SegmentBy] look at a series by
// lines, broken lines, and levels with their own scatter.
//
// # What the numbers mean
//
// A row departs from its level by its own measuring error, where it carries a
// standard error, and by a scatter common to all rows, which may be alike in
// neighbours: first-order autoregression along the positions, so that rows
// either side of lost leaves are less alike. Noise begins afresh with each
// level, which makes the likelihood of a segmentation a sum over its segments.
//
// The number of changes is the best by the modified Bayesian information
// criterion of Zhang and Siegmund (2007). That criterion is right for long
// series with normal noise; short ones with heavy tails, with neighbours alike
// or with values at a floor deceive it in up to half of all cases. So changes
// are reported only where series without change, drawn with the noise of the
// series at hand, seldom look as much like them (see alarm.go): 4 of 100 drawn,
// which keeps false alarms to 5 of 100, as the tests hold by simulation. In series
// too long to be drawn again in full, changes are left out of which noise alone
// makes the like (long_guard.go).
//
// The probability of a change is that of any change inside its interval, over
// all segmentations (Fearnhead 2006), with one change expected beforehand and
// all places alike, averaged over the noise. The interval is that of the place,
// given that there is one change in the stretch of rows that lies nearer to it
// than to the other changes found: so a doubtful neighbour does not blur a clear
// change, as it would in "the third change of seven".
//
// # Map
//
//	series.go, read.go, read_rows.go   a series, its checks, and how it is read from a table
//	options.go             the choices; known breaks and no-change zones
//	noise.go               scatter and correlation of rows, robustly and from residuals
//	rows.go                rows as quadratics in the level
//	lower_envelope.go, path.go   the best segmentations, by functional pruning
//	criterion.go           how many changes
//	posterior.go           all segmentations by exact recursion
//	places.go              … averaged over the noise: intervals and probabilities
//	choose.go              number and noise chosen together
//	alarm.go, guard.go, isolated.go   how often noise alone looks like a change
//	candidate.go, compare.go no change, a line, a broken line or steps
//	segment.go, levels.go  the whole of it
//	long*.go               … for long series, in time proportional to the rows
//	penalties.go           the path over penalties
//	reconcile.go           … as one story
//	changes.go, full.go, notes.go, text.go   the result, its numbers and its words
//	shape.go, shape_lines.go, shape_joints.go, shape_scatters.go   lines, joined lines, levels with their own scatter
//	shape_search.go        … their best segmentations
//	shape_contest.go       … with a change against without, and how often noise alone looks so
//	shape_sizes.go         … by how much the pieces differ
//	hours.go               the pages of a set of hours
//	disturbances.go, adjust.go, adjusted_series.go, leverage.go   what disturbs them removed
//	decline.go, decline_text.go, fieller.go   shares of the first office
//	isotonic.go, curve.go  … as a curve that never rises, with bands
//	shared_change.go, differ.go several books, two readers
//	habits.go              a whole book without its sections
//
// # How well it holds
//
// By simulation (slow_test.go, carried_test.go, with THUMBED_SLOW=1). False alarms of
// each kind of change, in series of 30 to 120 rows that are normal, heavy-tailed
// (Student's t with 3 degrees of freedom) or at a floor, with correlations up to 0.6,
// are in FALSE_ALARMS.md. Of steps, in the cells of that table with the highest rates
// (60 and 120 rows, correlation 0.3; 4,000 series each, standard error 0.3) they were
// 3.3 to 3.6 of 100, and of any kind in the comparison 3.5 to 4.3. In series of 6,000
// to 100,000 rows steps were reported in 4 of 1,620, where the criterion alone places
// some in every heavy-tailed one.
//
// Of steps of 2.5 standard deviations in 60 rows, 98 of 100 were found with
// independent noise and 79 with a correlation of 0.4; their places were inside the
// 95 % interval in 99 and 98 of 100. With heavy tails 87 were found and 57, and
// their places held in 95 and 92 of 100: where neighbours are alike and tails heavy
// at once, trust an interval a little less than it says.
//
// Of other kinds of change, in 60 rows of which one was claimed, the place was inside
// its interval in 95 to 98 of 100 series with independent noise and in 90 to 96 with a
// correlation of 0.4, and sizes in 97 to 100 and in 85 to 100 (of 300 series each,
// 48 to 289 with one change claimed): where neighbours are alike few changes of level
// and slope are claimed, and those were helped by the noise.
//
// Shares were inside their intervals in 97 of 100 where quires do not
// differ, 95 where they differ a third as much as pages, 93 where they differ as
// much.
//
// # Speed
//
// Functional pruning keeps, for each row, only those starts of the last segment
// that are best at some level: about ten, whatever the length. On one core of
// 2026 a thousand rows with up to 25 changes take some 3 ms, a million rows with
// a thousand changes three quarters of a second, and the posterior of a thousand rows 60 ms;
// BenchmarkSegmentLong shows that the time grows as the rows do. Drawing series
// takes most of the time of a short one: some 50 ms for a hundred rows, less
// where there is nothing to find.
//
// Other kinds of change take about a second for a thousand rows and five for fifty
// thousand, joined lines some four and twenty, less where there is nothing to find
// (BenchmarkSegmentBy).
package dropoff
