package plan

import (
	"context"
	"os"
	"testing"
	"time"
)

func TestTry(t *testing.T) {
	p, err := Open("../../../testdata/plan/pictures.toml")
	if err != nil {
		t.Fatal(err)
	}
	p.Setting.Replicates = 20
	began := time.Now()
	r, err := p.Try(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Log(time.Since(began))
	r.Text(os.Stdout)
	os.RemoveAll("/tmp/h-plan/out")
	if err := p.Write(r, "/tmp/h-plan/out"); err != nil {
		t.Fatal(err)
	}
}
