"""Days in stage, holds, the review owed, silence, slots, and how long a stage takes."""
