package plan

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/hypotheses/power"
	"thumbed/models/outcome"
	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/study/portion"
	"thumbed/models/table"
	"thumbed/models/table/document"
	"thumbed/models/wording"
)

// Several are the plans of all questions that a study asks, each read as the study
// reads its answers.
type Several struct {
	Path  string // of the plan file or the study's, or its folder, as it was given
	Title string
	Plans []*Plan
	Left  []string // sentences: which questions cannot be planned for, and why
}

// Names tells whether path is a study, or a plan file that names a study as its
// pilot and none of its models: what is planned for is then all that it asks.
func Names(path string) (several bool) {
	study, pilot := isStudy(path)
	return study || pilot
}

// IsStudy tells whether path is a study file or its folder.
func IsStudy(path string) bool {
	study, _ := isStudy(path)
	return study
}

// isStudy tells whether path is a study, or a plan file with a pilot and no model.
func isStudy(path string) (is, pilot bool) {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		_, err := os.Stat(filepath.Join(path, study.FileName))
		return err == nil, false
	}
	text, err := table.Content(path, 1<<20)
	if err != nil {
		return false, false
	}
	var found struct {
		Tables map[string]any
		Pilot  *struct{ Study, Model string }
	}
	if err := document.Peek(text, &found); err != nil {
		return false, false
	}
	return found.Tables != nil, found.Pilot != nil && found.Pilot.Study != "" && found.Pilot.Model == ""
}

// Usual numbers of the designs that are tried where a study alone is named: as many
// books as were measured and so many times as many, and these placings (common
// practice, no source).
var (
	usualTimes    = []int{1, 2}
	usualPlacings = []int{1, 3}
)

const (
	usualStudyDraws = 200
	usualLookDraws  = 60 // of looks at traces, whose models take longer
	usualPower      = 0.8
)

// OpenSeveral reads a study, or a plan file with a study as its pilot, and makes
// the plan of each question that the study asks of a model of wear.
func OpenSeveral(path string) (*Several, error) {
	file, text, where, err := severalFile(path)
	if err != nil {
		return nil, err
	}
	base := &Plan{Path: filepath.Clean(path), File: file, where: where}
	if where.Line("question") != 0 {
		return nil, base.fault("[question]", "no question where all that the study asks is planned for, each for the smallest effect that would matter", "delete the section, or name its model under [pilot] to plan for it alone", "question")
	}
	pilot, err := study.Open(base.near(file.Pilot.Study))
	if err != nil {
		return nil, fmt.Errorf("the study cannot be read: %w", err)
	}
	if file.Designs.Books == nil && len(pilot.Tables.Readings) > 0 {
		if file.Designs, err = designsLike(pilot, file.Designs); err != nil {
			return nil, err
		}
	}
	out := &Several{Path: path, Title: pilot.Title}
	alone := text == nil // a study, without a plan file
	if alone {
		out.Path, text = pilot.Path, pilot.Text()
		path = pilot.Path
		file.Pilot.Study = filepath.Base(path)
	}
	for _, q := range pilot.Questions {
		of := slices.IndexFunc(pilot.Models, func(m study.Model) bool { return m.Name == q.Model })
		switch {
		case of < 0 || pilot.Models[of].IsMeasure() && !outcome.Of(pilot.Models[of].Model).Read():
			out.Left = append(out.Left, fmt.Sprintf("“%s” is asked of a model of another outcome than wear and traces, which a campaign does not draw.", q.Words))
			continue
		case q.Smallest == 0:
			out.Left = append(out.Left, fmt.Sprintf("“%s” has no effect to plan for: state smallest, the smallest effect that would matter, in the study file.", q.Words))
			continue
		}
		one := *file
		one.Pilot.Model, one.Question.Words = q.Model, q.Words
		if !pilot.Models[of].IsMeasure() { // what else the file says is of readings
			one.Sheet, one.Layout, one.Designs.Keep = nil, nil, nil
			if alone {
				one.Designs.Replicates = usualLookDraws
			}
		}
		one.Invented = one.Invented || pilot.Invented
		if one.Title == "" {
			one.Title, one.Author, one.Note, one.Invented = pilot.Title, pilot.Author, pilot.Note, pilot.Invented
		}
		p, err := made(path, text, &one, where, pilot)
		if err != nil {
			out.Left = append(out.Left, wording.Sentence(fmt.Sprintf("“%s” cannot be planned for: %v", q.Words, err)))
			continue
		}
		out.Plans = append(out.Plans, p)
	}
	if len(out.Plans) == 0 {
		return nil, fmt.Errorf("none of the study's questions can be planned for: %s", wording.List(out.Left))
	}
	return out, nil
}

// severalFile is the plan file, or what one would say of a study alone.
func severalFile(path string) (*File, []byte, document.Where, error) {
	info, err := os.Stat(path)
	isStudy := err == nil && info.IsDir()
	if !isStudy {
		text, problem := study.ReadText(path, shape.What, fileName)
		if problem != nil {
			var ps table.Problems
			ps.Add(*problem)
			return nil, nil, nil, ps.Err()
		}
		var found struct{ Tables map[string]any }
		if err := document.Peek(text, &found); err != nil || found.Tables == nil {
			var ps table.Problems
			file, where := parse(path, text, &ps)
			return file, text, where, ps.Err()
		}
	}
	file := &File{Pilot: Pilot{Study: filepath.Base(path), Spreads: averaged}, Question: Question{Level: usualLevel},
		Designs: Designs{Replicates: usualStudyDraws, Seed: 1}, Aim: Aim{Power: usualPower}}
	return file, nil, nil, nil
}

// designsLike are designs around what was measured.
func designsLike(s *study.Study, d Designs) (Designs, error) {
	wear, err := s.Wear()
	if err != nil {
		return d, fmt.Errorf("the study's readings tell nothing to plan by: %w", err)
	}
	var pages []float64
	for b := range s.Books {
		if n := len(wear.OfBook(b)); n > 0 {
			pages = append(pages, float64(n))
		}
	}
	if len(pages) == 0 {
		return d, fmt.Errorf("no page of the study is measured yet, so that it tells nothing to plan by: measure a few books, or write a plan file with [assumed] spreads")
	}
	slices.Sort(pages)
	d.Pages = []int{int(stat.Quantile(0.5, stat.Empirical, pages, nil))}
	for _, times := range usualTimes {
		d.Books = append(d.Books, times*len(pages))
	}
	d.Placings = usualPlacings
	return d, nil
}

// Work says what is divided where all plans are tried in portions: their campaigns, one
// plan after the other.
func (s *Several) Work() (portion.Work, error) {
	var out portion.Work
	sum := sha256.New()
	for _, p := range s.Plans {
		work, err := p.Work()
		if err != nil {
			return out, err
		}
		fmt.Fprintln(sum, work.Of)
		work.Total += out.Total
		out = work
	}
	out.Of, out.Source = hex.EncodeToString(sum.Sum(nil)), s.Path
	return out, nil
}

// Part draws the campaigns of a portion of all plans; progress may be nil.
func (s *Several) Part(ctx context.Context, share portion.Portion, progress study.Progress) (*portion.File, error) {
	return portionOf(ctx, s, share, progress)
}

// pieces are the campaigns of all plans.
func (s *Several) pieces() int {
	n := 0
	for _, p := range s.Plans {
		n += p.Setting.Pieces()
	}
	return n
}

// campaigns draws those of a portion.
func (s *Several) campaigns(ctx context.Context, share portion.Portion, progress study.Progress) ([]power.Campaign, error) {
	from, to := share.Pieces(s.pieces())
	var out []power.Campaign
	before := 0
	for _, p := range s.Plans {
		n := p.Setting.Pieces()
		first, last := max(from, before)-before, min(to, before+n)-before
		before += n
		if first >= last {
			continue
		}
		done := len(out)
		drawn, err := p.Setting.Run(ctx, first, last, func(k, _ int) {
			if progress != nil {
				progress(done+k, to-from, "campaigns")
			}
		})
		if err != nil {
			return nil, err
		}
		out = append(out, drawn...)
	}
	return out, nil
}

// result puts all campaigns together.
func (s *Several) result(campaigns []power.Campaign) (*report.Plans, error) {
	out := &report.Plans{Title: s.Title, Left: s.Left}
	for _, p := range s.Plans {
		n := p.Setting.Pieces()
		result, err := p.result(campaigns[:n])
		if err != nil {
			return nil, err
		}
		out.Plans, campaigns = append(out.Plans, result), campaigns[n:]
	}
	return out, nil
}

// Try draws the campaigns of all plans.
func (s *Several) Try(ctx context.Context, progress study.Progress) (*report.Plans, error) {
	return try(ctx, s, progress)
}

// Gather puts the portions of all plans together: the same as [Several.Try], to the last
// digit; see [Plan.Gather].
func (s *Several) Gather(whole *portion.Whole) (*report.Plans, error) {
	return gather(s, whole)
}

// inputs are the plan file, where there is one, and the study's files.
func (s *Several) inputs() []study.FileSum { return s.Plans[0].inputs() }

// Write writes a page and a folder for each question into the folder dir, with a record,
// as [Plan.Write] does.
func (s *Several) Write(results *report.Plans, dir string) error {
	return study.WriteFolder(dir, func(fresh string) (*study.Record, error) {
		if err := results.Write(fresh); err != nil {
			return nil, err
		}
		return s.Plans[0].record(dir, s.Path, len(results.Plans))
	})
}
