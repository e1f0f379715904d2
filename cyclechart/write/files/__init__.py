"""Files and folders: writing whole, manifests, caches, worker processes, fonts, paper sizes."""
