package main

import (
	"os"
	"os/exec"
	"syscall"
)

// childOptions make the child end with this process, however that ends.
func childOptions(cmd *exec.Cmd) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL, Setpgid: true}
}

// modest lets the server go first: for the processor, and when memory runs out.
func modest() {
	_ = syscall.Setpriority(syscall.PRIO_PROCESS, 0, 10)
	_ = os.WriteFile("/proc/self/oom_score_adj", []byte("500"), 0) // where there is no /proc, nothing is lost
}
