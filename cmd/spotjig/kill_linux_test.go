package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"unsafe"

	"golang.org/x/sys/unix"
)

// ended reports whether a process that nobody has waited for has ended (waitid(2)
// with WNOWAIT, so that it can still be waited for).
func ended(pid int) bool {
	var info unix.Siginfo
	err := unix.Waitid(unix.P_PID, pid, &info, unix.WEXITED|unix.WNOHANG|unix.WNOWAIT, nil)
	return err != nil || info.Signo != 0
}

// forbidExchange makes renameat2(2) fail with ENOSYS in all of this process, as
// on a kernel that has none, by a filter of system calls (seccomp(2)).
func forbidExchange() error {
	const number = 0 // offset of the call's number in struct seccomp_data
	filter := []unix.SockFilter{
		{Code: unix.BPF_LD | unix.BPF_W | unix.BPF_ABS, K: number},
		{Code: unix.BPF_JMP | unix.BPF_JEQ | unix.BPF_K, Jt: 0, Jf: 1, K: unix.SYS_RENAMEAT2},
		{Code: unix.BPF_RET | unix.BPF_K, K: unix.SECCOMP_RET_ERRNO | uint32(unix.ENOSYS)},
		{Code: unix.BPF_RET | unix.BPF_K, K: unix.SECCOMP_RET_ALLOW},
	}
	program := unix.SockFprog{Len: uint16(len(filter)), Filter: &filter[0]}
	runtime.LockOSThread() // the two calls must be of one thread; the second reaches all
	defer runtime.UnlockOSThread()
	if err := unix.Prctl(unix.PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0); err != nil {
		return fmt.Errorf("no new privileges: %w", err)
	}
	_, _, errno := unix.Syscall(unix.SYS_SECCOMP, unix.SECCOMP_SET_MODE_FILTER, unix.SECCOMP_FILTER_FLAG_TSYNC, uintptr(unsafe.Pointer(&program)))
	runtime.KeepAlive(filter)
	if errno != 0 {
		return fmt.Errorf("filter of system calls: %w", errno)
	}
	nowhere := filepath.Join(os.TempDir(), "there", "is", "no", "such")
	err := unix.Renameat2(unix.AT_FDCWD, nowhere, unix.AT_FDCWD, nowhere, unix.RENAME_EXCHANGE)
	if !errors.Is(err, unix.ENOSYS) {
		return fmt.Errorf("the exchange was not taken away: %v", err)
	}
	return nil
}
