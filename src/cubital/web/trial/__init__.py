"""The slice for a trial: how long, who begins when, sealed before its data, looked at, printed."""
