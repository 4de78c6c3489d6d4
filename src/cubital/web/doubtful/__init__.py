"""The slice *Doubtful*: sets that medical microbiology decides, listed blind, decided, and taken back with a reason."""
