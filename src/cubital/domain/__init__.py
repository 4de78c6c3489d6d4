"""The words of the work: types, enumerations, charter, policy, answer, errors. Imports nothing of ours."""
