// @ts-check
/** Starts the parts of the page. */
import { startChannels } from './channels.js';
import { startCompare } from './compare.js';
import { startIntake } from './intake.js';
import { startJudge } from './judge.js';
import { startOutcomes } from './outcomes.js';
import { startPlan } from './plan.js';
import { startUnderstood } from './understood.js';

startUnderstood();
startChannels();
startJudge();
startOutcomes();
startCompare();
startPlan();
startIntake();
document.documentElement.dataset.ready = 'yes';
