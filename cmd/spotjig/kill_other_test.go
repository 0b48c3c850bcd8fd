//go:build !linux

package main

// ended cannot be asked here without waiting: the caller's time runs out instead.
func ended(int) bool { return false }

// forbidExchange: there is none here to begin with.
func forbidExchange() error { return nil }
