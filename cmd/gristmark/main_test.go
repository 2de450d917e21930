package main

import (
	"cmp"
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"gristmark": main})
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "../../testdata/script",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"status": cmdStatus, "render": cmdRender, "cut": cmdCut, "hugepng": cmdHugePNG, "document": cmdDocument, "samesample": cmdSameSample, "table": cmdTable, "shoot": cmdShoot, "pngsize": cmdPNGSize, "scaleratio": cmdScaleRatio, "tune": cmdTune, "sameparquet": cmdSameParquet,
			"serving": cmdServing, "stopping": cmdStopping, "firstaccount": cmdFirstAccount,
		},
		Setup: func(env *testscript.Env) error {
			env.Setenv("GOCOVERDIR", os.Getenv("GOCOVERDIR"))
			env.Setenv("PYTHON", cmp.Or(os.Getenv("PYTHON"), "/usr/bin/python3"))
			return nil
		},
	})
}
