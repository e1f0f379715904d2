"""From a piece to findings: one file a rule family, one function a rule, all listed in listing."""
