package plan

import (
	"context"
	"path/filepath"

	"thumbed/models/report"
	"thumbed/models/study"
)

// fileName is what a plan file is called where nothing else is said.
const fileName = "plan.toml"

// Write writes what the plan came to as the folder dir: the page, figures/,
// tables/, results.json and record.json, as [study.Study.Write] does.
func (p *Plan) Write(result *report.Plan, dir string) error {
	return study.WriteFolder(dir, func(fresh string) (*study.Record, error) {
		if err := result.Write(fresh); err != nil {
			return nil, err
		}
		return p.record(dir, p.Path, len(result.Result.Designs))
	})
}

// record is that of the folder dir, made of the file at path.
func (p *Plan) record(dir, path string, answers int) (*study.Record, error) {
	return study.NewRecord(study.OfPlan, dir, path, study.Record{StudyText: string(p.text), Inputs: p.inputs(),
		Seeds: []study.Seed{{Of: "the campaigns", Seed: p.Setting.Seed}}, Answers: answers})
}

// inputs are the plan file and the pilot's files, by their paths from the plan's
// folder.
func (p *Plan) inputs() []study.FileSum {
	if p.pilot != nil && p.Path == p.pilot.Path { // planned for by the study alone
		return p.pilot.Inputs()
	}
	out := []study.FileSum{study.SumOf(filepath.Base(p.Path), p.text)}
	if p.pilot == nil {
		return out
	}
	dir := filepath.Dir(p.near(p.File.Pilot.Study))
	if filepath.Base(p.pilot.Path) != filepath.Base(p.near(p.File.Pilot.Study)) { // its folder was named
		dir = filepath.Dir(p.pilot.Path)
	}
	for _, input := range p.pilot.Inputs() {
		if path, err := filepath.Rel(filepath.Dir(p.Path), filepath.Join(dir, filepath.FromSlash(input.Path))); err == nil {
			input.Path = filepath.ToSlash(path)
		}
		out = append(out, input)
	}
	return out
}

// Repeat tries a recorded plan again and compares, as [study.Repeat] does for a
// run; path is the record or its folder, planPath the plan where the record does
// not find it any more.
func Repeat(ctx context.Context, path, planPath string, progress study.Progress) (*study.Rerun, error) {
	return study.RepeatBy(path, planPath, study.Again{Kind: study.OfPlan, Name: fileName, Run: func(path string) ([]study.FileSum, []byte, error) {
		if Names(path) {
			s, err := OpenSeveral(path)
			if err != nil {
				return nil, nil, err
			}
			return repeat(ctx, s, progress)
		}
		p, err := Open(path)
		if err != nil {
			return nil, nil, err
		}
		return repeat(ctx, p, progress)
	}})
}
