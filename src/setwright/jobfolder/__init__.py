"""The job folder on disk ↔ the job document: plain text that a setter can read aloud and keep in version control."""
