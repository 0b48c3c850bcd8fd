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
// on a kernel that has none.
func forbidExchange() error {
	if err := forbid(unix.SYS_RENAMEAT2, unix.ENOSYS); err != nil {
		return err
	}
	nowhere := filepath.Join(os.TempDir(), "there", "is", "no", "such")
	err := unix.Renameat2(unix.AT_FDCWD, nowhere, unix.AT_FDCWD, nowhere, unix.RENAME_EXCHANGE)
	if !errors.Is(err, unix.ENOSYS) {
		return fmt.Errorf("the exchange was not taken away: %v", err)
	}
	return nil
}

// unconfirmed makes fsync(2) fail, as on a disk that does not say whether it has what was
// written. EINVAL is what file systems answer that cannot be asked about a folder: of a
// file alone it counts.
func unconfirmed(filesOnly bool) error {
	want := unix.EIO
	if filesOnly {
		want = unix.EINVAL
	}
	if err := forbid(unix.SYS_FSYNC, want); err != nil {
		return err
	}
	if err := unix.Fsync(-1); !errors.Is(err, want) {
		return fmt.Errorf("fsync was not taken away: %v", err)
	}
	return nil
}

// forbid makes a system call fail in all of this process, by a filter (seccomp(2)).
func forbid(call uint32, with unix.Errno) error {
	const number = 0 // offset of the call's number in struct seccomp_data
	filter := []unix.SockFilter{
		{Code: unix.BPF_LD | unix.BPF_W | unix.BPF_ABS, K: number},
		{Code: unix.BPF_JMP | unix.BPF_JEQ | unix.BPF_K, Jt: 0, Jf: 1, K: call},
		{Code: unix.BPF_RET | unix.BPF_K, K: unix.SECCOMP_RET_ERRNO | uint32(with)},
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
	return nil
}
