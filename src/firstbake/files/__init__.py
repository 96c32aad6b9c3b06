"""Files: everything that reads or writes a disk, and nothing that decides."""
