"""The frozen records that pass between rooms, one file a room. They import nothing but the hall."""
