"""The commands, one file each: options, usage errors and printing."""
