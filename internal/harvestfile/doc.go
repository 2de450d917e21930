// Package harvestfile reads the tables that people keep beside their photos: harvest.csv with the settings of each load, and
// a table that says which photo belongs to which sample. A fault is one sentence with the line that it stands on; all faults of a
// table are told at once.
package harvestfile
